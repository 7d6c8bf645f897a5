"""Controls, made from the table of choices and filled with the texts chosen."""

from collections.abc import Mapping, Sequence
from typing import Any

import dash_mantine_components as dmc
from dash import html
from dash.development.base_component import Component

from lightplan.catalog.places import Catalog
from lightplan.choices import table
from lightplan.choices.choice import Choice, Options
from lightplan.choices.raw import OWN, Raw
from lightplan.light import daylight
from lightplan.web import ids
from lightplan.web.components import Later
from lightplan.web.parts import aria

# Lists open inside the header, a landmark; by default they are outside any landmark.
POPUPS = {"portalProps": {"target": f"#{ids.POPUPS}"}}
_DATE = {"type": "date", "min": "1950-01-01", "max": "2037-12-31"}


def asked(
    page: str,
    raw: Raw,
    catalog: Catalog,
    after: Mapping[str, Sequence[Component]] | None = None,
) -> list[Component]:
    """Return the controls of a page, in the order of the table.

    Parameters
    ----------
    page : str
        Its key in `pages.PAGES`.
    raw, catalog : Raw, Catalog
        The texts to fill them with, and what there is to choose from.
    after : mapping of str to sequence of Component, optional
        What follows the control of a choice, by its name.
    """
    controls: list[Component] = []
    for choice in table.CHOICES:
        if page not in choice.pages or not choice.kind:
            continue
        if choice is table.PLACE:
            controls.append(place(raw, catalog))
        else:
            _add(controls, choice, field(choice, raw, catalog))
        controls += (after or {}).get(choice.name, ())
    return controls


def folded(page: str, raw: Raw, catalog: Catalog) -> html.Details:
    """Return the controls that a page folds away: what light and shutters assume."""
    controls: list[Component] = []
    for choice in table.CHOICES:
        if page in choice.folded:
            _add(controls, choice, field(choice, raw, catalog))
    return html.Details([html.Summary("Shutter and air"), Later(controls)])


def _add(controls: list[Component], choice: Choice[Any], control: Component) -> None:
    """Put a control below the last one, or beside it."""
    if choice.beside and controls:
        controls[-1] = html.Div([controls[-1], control], className="pair")
    else:
        controls.append(control)


def place(raw: Raw, catalog: Catalog) -> html.Div:
    """Return the controls of the place, and of coordinates instead."""
    position: list[Component] = []
    for choice in (table.LATITUDE, table.LONGITUDE, table.ZONE):
        _add(position, choice, field(choice, raw, catalog))
    rounded = "Plan and links round these to 0.01°, about 1 km."
    position.append(html.P(rounded, className="muted"))
    own = raw[table.PLACE.name] == OWN
    return html.Div(
        [
            field(table.PLACE, raw, catalog),
            html.Div(
                Later(position), id=ids.OWN_PLACE, className="" if own else "hidden"
            ),
        ]
    )


def drive_sky() -> html.Div:
    """Return the control for the selected drive's own sky."""
    options = [("", "same as the trip")]
    options += [(sky.key, sky.label) for sky in daylight.FORECASTS.values()]
    return html.Div(
        select(ids.DRIVE_SKY, "Sky on this drive", options, ""), className="narrow"
    )


def field(choice: Choice[Any], raw: Raw, catalog: Catalog) -> Component:
    """Return the control of a choice, filled with its text."""
    text = raw[choice.name]
    options = choice.options(catalog) if choice.options else []
    if choice.kind == "row":
        return row(choice.name, choice.label, options, text)
    if choice.kind == "list":
        return select(
            choice.name, choice.label, options, text, searchable=len(options) > 30
        )
    shared = {"id": choice.name, "label": choice.label, "description": choice.hint}
    if not choice.hint:
        del shared["description"]
    if choice.kind == "number":
        return dmc.NumberInput(
            **shared, value=numeric(text), step=choice.step, debounce=400
        )
    if choice.kind == "text":
        return dmc.Textarea(
            **shared,
            value=text,
            placeholder=choice.example,
            autosize=True,
            minRows=6,
            maxRows=12,
            debounce=500,
        )
    kind = _DATE if choice.kind == "date" else {"type": choice.kind}
    return dmc.TextInput(**shared, value=text, inputProps=kind)


def row(name: str, label: str, options: Options, value: str) -> html.Div:
    """Return a row of a few options to choose one from."""
    return html.Div(
        [
            html.Div(label, id=f"{name}-label", className="label"),
            dmc.SegmentedControl(
                id=name,
                value=value,
                data=data(options),
                fullWidth=True,
                transitionDuration=0,
                **aria(labelledby=f"{name}-label"),
            ),
        ]
    )


def select(
    name: str, label: str, options: Options, value: str | None, **more: Any
) -> dmc.Select:
    """Return a list of options to choose one from."""
    return dmc.Select(
        id=name,
        label=label,
        value=value,
        data=data(options),
        allowDeselect=False,
        comboboxProps=POPUPS,
        **more,
    )


def data(options: Options) -> list[str | dict[str, str]]:
    """Return values and labels as a control lists them; equal ones as one text."""
    return [
        value if value == label else {"value": value, "label": label}
        for value, label in options
    ]


def numeric(text: str) -> float | str:
    """Return a text as the value of a number field; other text stays as typed."""
    try:
        return float(text)
    except ValueError:
        return text
