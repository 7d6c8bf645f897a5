"""The page Your frames: the drop area and the settings of groups."""

from typing import Any

import dash_mantine_components as dmc
from dash import dcc, html
from dash.development.base_component import Component

from lightplan.catalog.places import Catalog, Loaded, Place
from lightplan.choices import table
from lightplan.choices.raw import Raw
from lightplan.frames import read as frames
from lightplan.light import daylight
from lightplan.sky import localtime
from lightplan.trip.request import FACINGS
from lightplan.web import form, ids, layout, rig_form, saved
from lightplan.web.components import Markup
from lightplan.web.frames.heads import LARGEST_BODY_BYTES, PATH, PIECE_BYTES, TABLES
from lightplan.web.frames.kept import MOST_FRAMES
from lightplan.web.kit import page as kit_page
from lightplan.web.pages import Visit
from lightplan.web.parts import picture

SPOT = "spot:"  # before the name of a spot, among the sides
PLACES_OWN = "place"  # the camera's clock shows the place's time
_GROUPINGS = (
    ("folder", "top folder, or a table’s group"),
    ("subfolder", "innermost folder, or a table’s group"),
    ("date", "date"),
    ("all", "all as one"),
)

Options = list[tuple[str, str]]


def page(visit: Visit) -> dmc.MantineProvider:
    """Return the page; its callbacks fill it from the frames stored in the tab."""
    raw, loaded, record = visit.raw, visit.loaded, visit.record
    base = {"text": saved.text_of(record), "revision": saved.revision_of(record)}
    main = html.Main(
        [
            *layout.replaced_values(visit),
            html.P(id=ids.LEARN_PROBLEM, role="status", className="problem"),
            html.P(id=ids.LEARN_ANSWER, className="answer"),
            kit_page.status(),
            _drop(),
            html.Div(id=ids.LEARN_ACCOUNT),
            html.Div(_found(), id=ids.LEARN_FOUND, className="hidden"),
            dcc.Store(id=ids.LEARN_FRAMES, storage_type="session"),
            dcc.Store(id=ids.LEARN_COVERS),
            dcc.Store(id=ids.LEARN_PICKED),
            dcc.Store(id=ids.KIT_BASE, data=base),
            *(
                dcc.Store(id=name)
                for name in (ids.KIT_AT, ids.KIT_WANTED, ids.KIT_NEWER)
            ),
        ],
        id="plan",
        className="learn",
        tabIndex=-1,
    )
    return layout.frame("learn", raw, loaded, _controls(raw, loaded), main)


def sides(place: Place) -> Options:
    """Return the choices for the light: a side, or as at a spot of the place."""
    looks = [(SPOT + s.name, f"as at {s.name}") for s in place.spots]
    return [*((f.key, f.key) for f in FACINGS), *looks]


def _drop() -> html.Section:
    """Return the drop area for files; the script reads its limits from here."""
    return html.Section(
        [
            html.P(
                "Drop frames, whole folders or a CSV table here. They are added to "
                "the ones already here; duplicates count once."
            ),
            html.Div(
                [
                    html.Button("Choose a folder", id=ids.LEARN_FOLDER, n_clicks=0),
                    html.Button("Choose files", id=ids.LEARN_FILES, n_clicks=0),
                    html.Button(
                        "Forget these frames",
                        id=ids.LEARN_FORGET,
                        className="quiet hidden",
                        n_clicks=0,
                    ),
                ],
                className="buttons",
            ),
            html.P(id=ids.LEARN_PROGRESS, role="status"),
            html.P(
                "Only the headers are read, mostly the first 16 kB of a file. They go "
                "to the lightplan server that this page comes from, which stores "
                "nothing. The exposures "
                "stay in this tab until you close it. A table needs the columns time, "
                "f, shutter and ISO; compensation, UTC offset, flash and group are "
                "optional.",
                className="muted",
            ),
        ],
        id=ids.LEARN_DROP,
        className="drop",
        **_settings(),
    )


def _settings() -> dict[str, Any]:
    return {
        "data-path": PATH,
        "data-endings": " ".join(sorted(frames.ENDINGS)),
        "data-tables": " ".join(TABLES),
        "data-piece": str(PIECE_BYTES),
        "data-batch": str(LARGEST_BODY_BYTES - 500_000),  # the index needs some
        "data-most": str(MOST_FRAMES),
    }


def _found() -> list[Component]:
    return [
        html.Section(
            [
                html.H2("Measured against expected"),
                picture(ids.LEARN_CHART, ids.LEARN_TEXT),
                _pick(),
            ],
            className="detail",
        ),
        Markup(id=ids.LEARN_TABLE, tag="section", className="tables"),
        html.Section(id=ids.LEARN_KEEPS, className="tables keeps"),
    ]


def _pick() -> html.Div:
    """Return the controls that turn points on the picture into a group."""
    return html.Div(
        [
            html.Button(
                "Select bursts on the picture",
                id=ids.LEARN_PICK,
                className="quiet",
                n_clicks=0,
            ),
            html.Div(
                [
                    dmc.TextInput(
                        id=ids.LEARN_PICK_NAME,
                        label="Name of the group",
                        placeholder="Riverine forest",
                    ),
                    html.Button(
                        "Make a group",
                        id=ids.LEARN_PICKED_DONE,
                        className="quiet",
                        n_clicks=0,
                    ),
                ],
                id=ids.LEARN_PICK_BOX,
                className="hidden",
            ),
        ],
        className="pick",
    )


def summary(raw: Raw, catalog: Catalog) -> str:
    """Return the choices on one line, for the closed drawer on a phone."""
    return table.PLACE.of(raw, catalog).name


def _controls(raw: Raw, loaded: Loaded) -> list[Component]:
    catalog = loaded.catalog
    place = next((p for p in catalog.places if p.name == raw[table.PLACE.name]), None)
    skies = [(s.key, s.label) for s in daylight.FORECASTS.values()]
    covers = [(c.key, c.label) for c in daylight.COVERS.values()]
    zones = [(z, z) for z in localtime.zone_names()]
    return [
        form.place(raw, catalog),
        _select(
            ids.LEARN_CLOCK_ZONE,
            "Camera’s clock, if frames lack a zone",
            [("", "not known"), (PLACES_OWN, "the place’s time"), *zones],
            searchable=True,
        ),
        _number(ids.LEARN_CLOCK, "Seconds the camera’s clock was slow", 1),
        _select(ids.LEARN_SKY, "Sky", [("", "the place’s usual"), *skies]),
        _select(
            ids.LEARN_SIDE,
            "Lit from",
            sides(place) if place else _plain_sides(),
            "side",
        ),
        _select(ids.LEARN_BASE, "Count stops from", covers, "open"),
        _select(
            ids.LEARN_PRESET,
            "Compare with the preset",
            [("", "the usual one"), *covers],
        ),
        _select(ids.LEARN_BY, "Group frames by", list(_GROUPINGS), "folder"),
        dmc.Textarea(
            id=ids.LEARN_GROUPS,
            label="Settings by group, one per line",
            placeholder="Forest:base=woodland,side=back\n"
            "Pan:from=2027-08-12T06:00,to=2027-08-12T09:00",
            value="",
            autosize=True,
            minRows=3,
            debounce=600,
            **_KEPT,
        ),
        html.Details(
            [
                html.Summary("How you expose"),
                html.Div(
                    [
                        _number(ids.LEARN_HABIT, "Habit, stops (−0.7: darker)", 0.1),
                        dmc.Checkbox(
                            id=ids.LEARN_EXPOSED,
                            label="Compensation was set for pale or dark animals",
                            checked=False,
                            **_KEPT,
                        ),
                        dmc.TextInput(
                            id=ids.LEARN_REFERENCE,
                            label="Reference group, on open ground",
                            placeholder="none",
                            value="",
                            debounce=600,
                            **_KEPT,
                        ),
                    ],
                    className="stacked",
                ),
            ]
        ),
        html.Details(
            [html.Summary("Example rig"), rig_form.rigs(raw, catalog, seen=False)]
        ),
    ]


# The settings last as long as the frames: while the tab is open.
_KEPT: dict[str, Any] = {"persistence": True, "persistence_type": "session"}


def _plain_sides() -> Options:
    return [(f.key, f.key) for f in FACINGS]


def _select(
    name: str, label: str, options: Options, value: str = "", **more: Any
) -> dmc.Select:
    return form.select(name, label, options, value, **more, **_KEPT)


def _number(name: str, label: str, step: float) -> dmc.NumberInput:
    return dmc.NumberInput(
        id=name, label=label, value=0, step=step, debounce=600, **_KEPT
    )
