"""The page: choices on one side; sentence, rows, picture and table on the other."""

from collections.abc import Callable
from typing import Any

import dash_mantine_components as dmc
from dash import dcc, html
from dash.development.base_component import Component

from lightplan.catalog.places import Loaded
from lightplan.errors import as_sentence
from lightplan.stop import words as stop_words
from lightplan.trip import words
from lightplan.web import controls, form, ids
from lightplan.web.choices.raw import Raw
from lightplan.web.components import Markup
from lightplan.web.parts import aria, minute_slider, picture
from lightplan.web.take import downloads

PAGES = {
    "trip": ("Trip", "/"),
    "year": ("Year", "/year"),
    "stop": ("Where to stop", "/stop"),
    "spots": ("Spots", "/spots"),
    "loop": ("The loop", "/loop"),
    "learn": ("Your frames", "/learn"),
    "kit": ("Kit and places", "/kit"),
}


def title(path: str) -> str:
    """Return the document's title at a path, ``Year · lightplan``."""
    name = path.rsplit("/", 1)[-1]
    names = {at: label for label, at in PAGES.values()}
    return f"{names.get(f'/{name}', 'Pocket plan')} · lightplan"


def trip_page(raw: Raw, loaded: Loaded, said: tuple[str, ...]) -> dmc.MantineProvider:
    """Return the trip's page, its controls filled with the texts given.

    ``said`` are sentences on values of the link that had to be replaced.
    """
    asked = controls.trip(raw, loaded.catalog)
    return frame("trip", raw, loaded, asked, _plan(raw, loaded, said))


def frame(
    page: str,
    raw: Raw,
    loaded: Loaded,
    controls: list[Component],
    main: html.Main,
) -> dmc.MantineProvider:
    """Return a page: header, choices on one side, what they lead to on the other.

    What this page does not ask for is carried along in its links.
    """
    asked = html.Div([*controls, main])
    carried = [field for field in ids.FIELDS if field not in asked]
    body = [
        html.Div(
            [
                html.Div(id=ids.PROBLEM, role="status", className="problem"),
                _choices(controls),
                main,
            ],
            className="page",
        ),
        dcc.Store(id=ids.PAGE, data=page),
        dcc.Store(id=ids.LINK),
        dcc.Store(id=ids.TYPED),
        dcc.Store(id=ids.ADDRESS),
        dcc.Store(id=ids.SELECTED, data=raw.drive),
        # Callbacks name every field, and links keep what another page asked.
        *(dcc.Input(id=f, type="hidden", value=raw[f]) for f in carried),
        dcc.Store(
            id=ids.USUAL,
            data={
                "places": {p.name: [p.sky, p.cover] for p in loaded.catalog.places},
                "rigs": [r.name for r in loaded.catalog.rigs],
            },
        ),
    ]
    pages = html.Nav(links(page, raw), **aria(label="Pages"))
    return shell(pages, body, "Skip to the plan", "#plan")


def shell(
    pages: html.Nav, body: list[Component], skip: str, target: str
) -> dmc.MantineProvider:
    """Return what every page has round its body; the first link skips to a target."""
    return dmc.MantineProvider(
        [
            html.A(skip, href=target, className="skip"),
            html.Header(
                [
                    html.H1("lightplan"),
                    pages,
                    _theme_choice(),
                    html.Div(id=ids.POPUPS),
                ]
            ),
            *body,
            dcc.Store(id=ids.THEME),
        ],
        id=ids.PROVIDER,
        defaultColorScheme="auto",
        theme={
            "fontFamily": "ui-sans-serif, system-ui, sans-serif",
            "primaryColor": "teal",
            "defaultRadius": "sm",
            "components": {"Select": {"defaultProps": _LIST}},
        },
    )


# The list scrolls by itself, so that arrow keys move it; its arrow is no picture.
_LIST = {"withScrollArea": False, "rightSectionProps": aria(hidden="true")}


def links(
    page: str, raw: Raw, id_of: Callable[[str], dict[str, Any]] = ids.nav_link
) -> list[html.A]:
    """Return links to all pages, with the choices."""
    return [
        html.A(
            label,
            id=id_of(name),
            href=path + raw.search(),
            **aria(current="page" if name == page else "false"),
        )
        for name, (label, path) in PAGES.items()
    ]


def _theme_choice() -> html.Div:
    names = (("auto", "as the device"), ("paper", "paper"), ("dusk", "dusk"))
    return html.Div(
        dmc.SegmentedControl(
            id=ids.THEME_CHOICE,
            value="auto",
            data=[{"value": value, "label": label} for value, label in names],
            size="xs",
            transitionDuration=0,
            persistence=True,
            persistence_type="local",
            **aria(label="Colours of the page"),
        ),
        className="theme-choice",
    )


def _choices(controls: list[Component]) -> html.Aside:
    return html.Aside(
        [
            html.Button(
                [html.Span(id=ids.SUMMARY), html.Span("change", className="change")],
                id=ids.DRAWER_BUTTON,
                className="drawer-button",
                n_clicks=0,
                **aria(expanded="false", controls=ids.DRAWER),
            ),
            html.Div(
                [
                    *controls,
                    html.Button(
                        "Done", id=ids.DRAWER_DONE, className="drawer-done", n_clicks=0
                    ),
                ],
                id=ids.DRAWER,
                className="controls",
            ),
        ],
        className="choices",
        **aria(label="Choices"),
    )


def _plan(raw: Raw, loaded: Loaded, said: tuple[str, ...]) -> html.Main:
    return html.Main(
        [
            *replaced_values(loaded, said),
            html.P(id=ids.ANSWER, className="answer"),
            html.Div(id=ids.NOTES, className="notes"),
            html.Section(
                [
                    html.H2("Drives"),
                    html.P(
                        "Light within each drive, by the sun’s altitude. A mark shows "
                        "the minute from which a rig can start (▸) or at which it is "
                        "finished (◂), a dotted line when to turn back for the gate; "
                        "usable minutes count to the drive’s end, a way back with them.",
                        className="muted",
                    ),
                    Markup(id=ids.DRIVES),
                ],
                className="drives",
            ),
            html.Section(
                [
                    html.H2(id=ids.CHART_TITLE),
                    form.drive_sky(),
                    html.Div(id=ids.READOUT, className="readout"),
                    picture(
                        ids.CHART,
                        ids.CHART_TEXT,
                        html.Div(
                            minute_slider(
                                ids.MINUTE, "Minute of the drive to read off"
                            ),
                            className="minute",
                        ),
                    ),
                ],
                className="detail",
            ),
            Markup(id=ids.TABLES, tag="section", className="tables"),
            Markup(id=ids.LENSES, tag="section", className="tables"),
            html.Section(
                [
                    html.H2("Which drives"),
                    form.order_choice(raw),
                    html.Div(
                        [
                            html.P(id=ids.BOOKED, className="said"),
                            Markup(id=ids.BOOKABLE),
                        ],
                        id=ids.BOOKING,
                    ),
                    dcc.Input(id=ids.MARKS, type="hidden", value=raw[ids.MARKS]),
                    dcc.Input(id=ids.SKIES, type="hidden", value=raw[ids.SKIES]),
                ],
                className="tables",
            ),
            downloads.section(raw),
            dcc.Store(id=ids.MINUTES),
            cautions(),
        ],
        id="plan",
        tabIndex=-1,
    )


def replaced_values(loaded: Loaded, said: tuple[str, ...]) -> list[html.P]:
    """Return what was wrong with the file or the link, a sentence each."""
    sentences = [as_sentence(text) for text in said]
    if loaded.problem:
        shown = "The built-in example is shown instead."
        sentences.insert(0, f"{as_sentence(loaded.problem)} {shown}")
    if not sentences:
        return []
    if said:
        sentences.append("Replaced by the usual values; everything else is as linked.")
    return [html.P(sentence, className="problem") for sentence in sentences]


def stop_cautions() -> list[html.P]:
    """Return what stands by a picture from which one chooses where to look."""
    return [html.P(text, className="stop-caution") for text in stop_words.CAUTIONS]


def cautions() -> html.Footer:
    """Return the usual cautions."""
    return html.Footer([html.P(caution) for caution in words.CAUTIONS])
