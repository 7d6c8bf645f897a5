"""What the pages of trip, year, spots and where to stop ask, control by control."""

import dash_mantine_components as dmc
from dash import dcc, html
from dash.development.base_component import Component

from lightplan.catalog.kit import PACES
from lightplan.catalog.places import Catalog
from lightplan.spots.chances import WISHES
from lightplan.trip.request import FACINGS, LETTERS
from lightplan.web import form, ids, rig_form
from lightplan.web.choices import stop as stop_fields
from lightplan.web.choices.raw import Raw


def trip(raw: Raw, catalog: Catalog) -> list[Component]:
    """Return the trip's controls, filled with the texts given."""
    travel = form.number(ids.TRAVEL, "Minutes back to the gate", raw, step=5)
    return _controls(raw, catalog, form.days(raw), travel)


def year(raw: Raw, catalog: Catalog) -> list[Component]:
    """Return the year's controls, filled with the texts given."""
    shown = [(letter, letter) for letter in LETTERS]
    return _controls(
        raw,
        catalog,
        form.number(ids.YEAR, "Year", raw, step=1),
        form.choice(ids.SHOWN, "Rig in the picture", shown, raw),
    )


def spots(raw: Raw, catalog: Catalog, spot: str) -> list[Component]:
    """Return the controls of fixed spots, of which one is chosen ("" for none)."""
    of = {p.name: [spot.name for spot in p.spots] for p in catalog.places}
    listed = of.get(raw[ids.PLACE], [])
    wishes = [(wish.key, wish.key) for wish in WISHES]
    return [
        form.place(raw, catalog),
        dmc.Select(
            id=ids.SPOT_CHOICE,
            label="Spot",
            value=spot or None,
            data=form.data([(name, name) for name in listed]),
            allowDeselect=False,
            comboboxProps=form.POPUPS,
            placeholder="none here",
        ),
        form.number(ids.YEAR, "Year", raw, step=1),
        form.choice(ids.WISH, "Light you wait for", wishes, raw),
        # Of backlight alone; the page's style hides it from the other lights.
        html.Div(
            form.number(
                ids.BEHIND, "Widest angle from straight behind, °", raw, step=1
            ),
            className="for-back",
        ),
        form.number(ids.HEIGHT, "Highest sun, °", raw, step=5),
        dcc.Store(id=ids.SPOTS_OF, data=of),
        rig_form.hidden(raw, catalog),
    ]


def stop(raw: Raw, catalog: Catalog) -> list[Component]:
    """Return the controls of where to stop, filled with the texts given."""
    skylines = [(name, name) for name in stop_fields.skylines(catalog)]
    return [
        form.place(raw, catalog),
        form.days(raw),
        form.number(ids.DISTANCE, "Distance to the animal, m", raw, step=5),
        form.number(ids.AIM, "Aim, degrees from true north (optional)", raw, step=5),
        form.number(
            ids.DECLINATION,
            "Magnetic declination, degrees east (optional)",
            raw,
            step=0.5,
        ),
        form.select(ids.SKYLINE, "Skyline", [("", stop_fields.LEVEL), *skylines], raw),
        _pace(raw),
        *form.skies(raw, catalog),
        rig_form.rigs(raw, catalog),
    ]


def _pace(raw: Raw) -> html.Div:
    paces = [(p.key, p.label) for p in PACES.values()]
    return form.choice(ids.PACE, "The animal is", paces, raw)


def _controls(
    raw: Raw, catalog: Catalog, when: Component, more: Component
) -> list[Component]:
    return [
        form.place(raw, catalog),
        when,
        _pace(raw),
        form.choice(ids.FACING, "Lit from the", [(f.key, f.key) for f in FACINGS], raw),
        *form.skies(raw, catalog),
        more,
        rig_form.rigs(raw, catalog),
        html.Details(
            [
                html.Summary("What the proposed shutter assumes"),
                html.Div(
                    [
                        form.number(ids.DISTANCE, "Distance, m", raw, step=5),
                        form.number(ids.BLUR, "Blur allowed, px", raw, step=0.5),
                    ],
                    className="pair",
                ),
            ]
        ),
    ]
