"""Controls that several pages have, filled from a `Raw`; the pieces of any."""

import dash_mantine_components as dmc
from dash import html
from dash.development.base_component import Component

from lightplan.catalog import covers
from lightplan.catalog.places import Catalog
from lightplan.light import daylight
from lightplan.sky import localtime
from lightplan.trip import compare
from lightplan.web import ids
from lightplan.web.choices.raw import Raw
from lightplan.web.parts import aria

# Lists open inside the header, a landmark; by default they would hang outside all.
POPUPS = {"portalProps": {"target": f"#{ids.POPUPS}"}}


def conditions(raw: Raw, catalog: Catalog) -> list[Component]:
    """Return the controls for place, days, sky and cover alone."""
    return [place(raw, catalog), days(raw), *skies(raw, catalog)]


def days(raw: Raw) -> html.Div:
    """Return the controls of the first and the last day."""
    return html.Div(
        [_date(ids.FIRST, "First day", raw), _date(ids.LAST, "Last day", raw)],
        className="pair",
    )


def skies(raw: Raw, catalog: Catalog) -> list[Component]:
    """Return the controls of the sky and of what is over the animal."""
    kinds = [(s.key, s.label) for s in daylight.SKIES.values()]
    known = [(c.key, c.label) for c in covers.known(catalog.covers)]
    return [
        select(ids.SKY, "Sky", kinds, raw),
        select(ids.COVER, "Over the animal", known, raw),
    ]


def order_choice(raw: Raw) -> html.Div:
    """Return the control for what drives are ordered by."""
    options = [(want.key, want.label) for want in compare.WANTS]
    return html.Div(select(ids.ORDER, "Order by", options, raw), className="narrow")


def drive_sky() -> html.Div:
    """Return the control for the selected drive's own sky."""
    options = [("", "as for the trip")]
    options += [(sky.key, sky.label) for sky in daylight.SKIES.values()]
    return html.Div(
        dmc.Select(
            id=ids.DRIVE_SKY,
            label="Sky on this drive",
            value="",
            data=data(options),
            allowDeselect=False,
            comboboxProps=POPUPS,
        ),
        className="narrow",
    )


def place(raw: Raw, catalog: Catalog) -> html.Div:
    """Return the controls of the place, and of coordinates of one's own."""
    names = [(p.name, p.name) for p in catalog.places]
    own = raw[ids.PLACE] == ids.OWN
    return html.Div(
        [
            select(ids.PLACE, "Place", [*names, (ids.OWN, ids.OWN)], raw),
            html.Div(
                [
                    html.Div(
                        [
                            number(ids.LATITUDE, "Latitude, °N", raw, step=0.1),
                            number(ids.LONGITUDE, "Longitude, °E", raw, step=0.1),
                        ],
                        className="pair",
                    ),
                    select(
                        ids.ZONE,
                        "Time zone",
                        [(z, z) for z in localtime.zone_names()],
                        raw,
                        searchable=True,
                    ),
                    html.P(
                        "The plan and its links take these to 0.01°, about 1 km.",
                        className="muted",
                    ),
                ],
                id=ids.OWN_PLACE,
                className="" if own else "hidden",
            ),
        ]
    )


def _date(name: str, label: str, raw: Raw) -> dmc.TextInput:
    return dmc.TextInput(id=name, label=label, value=raw[name], inputProps=_DATE)


_DATE = {"type": "date", "min": "1950-01-01", "max": "2037-12-31"}


def number(name: str, label: str, raw: Raw, step: float) -> dmc.NumberInput:
    """Return a field for a number."""
    return dmc.NumberInput(
        id=name, label=label, value=numeric(raw[name]), step=step, debounce=400
    )


def choice(name: str, label: str, options: list[tuple[str, str]], raw: Raw) -> html.Div:
    """Return a row of a few options, of which one is chosen."""
    return html.Div(
        [
            html.Div(label, id=f"{name}-label", className="label"),
            dmc.SegmentedControl(
                id=name,
                value=raw[name],
                data=data(options),
                fullWidth=True,
                transitionDuration=0,
                **aria(labelledby=f"{name}-label"),
            ),
        ]
    )


def select(
    name: str,
    label: str,
    options: list[tuple[str, str]],
    raw: Raw,
    searchable: bool = False,
) -> dmc.Select:
    """Return a list of options, of which one is chosen."""
    return dmc.Select(
        id=name,
        label=label,
        value=raw[name],
        data=data(options),
        allowDeselect=False,
        comboboxProps=POPUPS,
        searchable=searchable,
    )


def data(options: list[tuple[str, str]]) -> list[str | dict[str, str]]:
    """Return values and labels as the list of a control, no text twice."""
    return [
        value if value == label else {"value": value, "label": label}
        for value, label in options
    ]


def numeric(text: str) -> float | str:
    """Return a text as the value of a field for a number; one that is none stays."""
    try:
        return float(text)
    except ValueError:
        return text
