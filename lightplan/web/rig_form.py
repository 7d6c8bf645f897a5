"""The controls of the rigs to compare, A to F."""

import dash_mantine_components as dmc
from dash import html

from lightplan.camera import exposure
from lightplan.catalog.places import Catalog
from lightplan.choices.raw import Raw, slot_field
from lightplan.trip.request import LETTERS, MAX_RIGS
from lightplan.web import form, ids
from lightplan.web.components import Later
from lightplan.web.parts import aria

_SHUTTERS = (250, 320, 400, 500, 640, 800, 1000, 1250, 1600, 2000, 2500, 3200, 4000)
_CEILINGS = tuple(s for s in exposure.ISO_SPEEDS if 400 <= s <= 51200)


def rigs(raw: Raw, catalog: Catalog, seen: bool = True) -> html.Div:
    """Return the controls of all rigs, visible at once or once they are unfolded."""
    slots = [_slot(slot, raw, catalog, seen) for slot in range(MAX_RIGS)]
    return html.Div([html.H2("Rigs to compare"), *slots, _add_rig()], id=ids.SLOTS)


def hidden(raw: Raw, catalog: Catalog) -> html.Div:
    """Return them for a page without rigs, since callbacks of every page name them."""
    return html.Div(rigs(raw, catalog, seen=False), className="hidden")


def _slot(slot: int, raw: Raw, catalog: Catalog, seen: bool) -> html.Fieldset:
    used = slot < len(raw.rigs)
    name, focal, aperture, shutter, iso = raw.rigs[slot] if used else [""] * 5
    letter = LETTERS[slot]
    f_numbers = [n for n in exposure.F_NUMBERS if 1.4 <= n <= 32]

    def field(kind: str) -> str:
        return slot_field(kind, slot)

    # When a rig above is removed, settings move up with their rig, so every slot lists
    # the settings of all.
    def listed(known: list[str], setting: int) -> list[str]:
        set_by_hand = [rig[setting].removeprefix("1/") for rig in raw.rigs]
        return list(dict.fromkeys([*known, *filter(None, set_by_hand)]))

    apertures = listed([f"{n:g}" for n in f_numbers], 2)
    shutters = listed([str(s) for s in _SHUTTERS], 3)
    ceilings = listed([str(s) for s in _CEILINGS], 4)
    settings = [
        dmc.NumberInput(
            id=field("focal"),
            label="Focal length, mm",
            value=form.numeric(focal),
            placeholder="longest",
            hideControls=True,
            debounce=400,
        ),
        _option(field("aperture"), "Aperture", "widest", "f/", apertures, aperture),
        _option(
            field("shutter"),
            "Shutter",
            "proposed",
            "1/",
            shutters,
            shutter.removeprefix("1/"),
        ),
        _option(field("iso"), "ISO ceiling", "the body’s", "ISO ", ceilings, iso),
    ]
    remove = html.Button(
        f"Remove rig {letter}", id=ids.remove_rig(slot), className="quiet", n_clicks=0
    )
    parts = [
        html.Legend(f"Rig {letter}", className="visually-hidden"),
        html.Div(
            [
                html.Span(letter, className=f"rig rig-{letter}", **aria(hidden="true")),
                dmc.Select(
                    id=field("rig"),
                    value=name or None,
                    data=form.data([(r.name, r.name) for r in catalog.rigs]),
                    allowDeselect=False,
                    comboboxProps=form.POPUPS,
                    placeholder="choose a rig",
                    **aria(label=f"Rig {letter}"),
                ),
            ],
            className="slot-head",
        ),
        html.Details(
            [
                html.Summary("…", id=ids.slot_summary(slot)),
                Later([html.Div(settings, className="pair wrap"), remove]),
            ]
        ),
    ]
    return html.Fieldset(
        parts if used and seen else Later(parts),
        id=ids.slot_box(slot),
        className="slot" if used else "slot hidden",
    )


def _add_rig() -> html.Button:
    return html.Button("Add a rig", id=ids.ADD_RIG, className="quiet", n_clicks=0)


def _option(
    name: str, label: str, usual: str, prefix: str, texts: list[str], value: str
) -> dmc.Select:
    return dmc.Select(
        id=name,
        label=label,
        value=value,
        data=form.data([("", usual), *((t, f"{prefix}{t}") for t in texts)]),
        allowDeselect=False,
        comboboxProps=form.POPUPS,
    )
