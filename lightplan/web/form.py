"""The controls: what a person chooses, filled from a `Raw`."""

import dash_mantine_components as dmc
from dash import dcc, html
from dash.development.base_component import Component

from lightplan import compare, covers, daylight, exposure, localtime
from lightplan.kit import PACES
from lightplan.places import Catalog, Place
from lightplan.plan import FACINGS, LETTERS, MAX_RIGS
from lightplan.spot_chances import WISHES
from lightplan.web import ids, stop_fields
from lightplan.web.aria import aria
from lightplan.web.state import OWN, Raw

_SHUTTERS = (250, 320, 400, 500, 640, 800, 1000, 1250, 1600, 2000, 2500, 3200, 4000)
# Lists open inside the header, a landmark; by default they would hang outside all.
POPUPS = {"portalProps": {"target": f"#{ids.POPUPS}"}}
_CEILINGS = tuple(s for s in exposure.ISO_SPEEDS if 400 <= s <= 51200)


def trip_controls(raw: Raw, catalog: Catalog) -> list[Component]:
    """Return the trip's controls, filled with the texts given."""
    travel = _number(ids.TRAVEL, "Minutes back to the gate", raw, step=5)
    return _controls(raw, catalog, _days(raw), travel)


def year_controls(raw: Raw, catalog: Catalog) -> list[Component]:
    """Return the year's controls, filled with the texts given."""
    shown = [(letter, letter) for letter in LETTERS]
    return _controls(
        raw,
        catalog,
        _number(ids.YEAR, "Year", raw, step=1),
        _choice(ids.SHOWN, "Rig in the picture", shown, raw),
    )


def spots_controls(raw: Raw, catalog: Catalog, spot: str) -> list[Component]:
    """Return the controls of fixed spots, of which one is chosen ("" for none)."""
    of = {place.name: spot_names(place) for place in catalog.places}
    listed = of.get(raw[ids.PLACE], [])
    wishes = [(wish.key, wish.key) for wish in WISHES]
    return [
        place(raw, catalog),
        dmc.Select(
            id=ids.SPOT_CHOICE,
            label="Spot",
            value=spot or None,
            data=_data([(name, name) for name in listed]),
            allowDeselect=False,
            comboboxProps=POPUPS,
            placeholder="none here",
        ),
        _number(ids.YEAR, "Year", raw, step=1),
        _choice(ids.WISH, "Light you wait for", wishes, raw),
        # Of backlight alone; the page's style hides it from the other lights.
        html.Div(
            _number(ids.BEHIND, "Within … of straight behind, °", raw, step=1),
            className="for-back",
        ),
        _number(ids.HEIGHT, "Highest sun, °", raw, step=5),
        dcc.Store(id=ids.SPOTS_OF, data=of),
        # Callbacks of every page name the rigs; no rig changes a bearing.
        html.Div([*_slots(raw, catalog), _add_rig()], id=ids.SLOTS, className="hidden"),
    ]


def spot_names(place: Place) -> list[str]:
    """Return the names of a place's spots, each once."""
    return list(dict.fromkeys(spot.name for spot in place.spots))


def stop_controls(raw: Raw, catalog: Catalog) -> list[Component]:
    """Return the controls of where to stop, filled with the texts given."""
    skylines = [(name, name) for name in stop_fields.skylines(catalog)]
    return [
        place(raw, catalog),
        _days(raw),
        _number(ids.DISTANCE, "Distance to the animal, m", raw, step=5),
        _number(ids.AIM, "Aim, degrees from true north (optional)", raw, step=5),
        _number(
            ids.DECLINATION,
            "Magnetic declination, degrees east (optional)",
            raw,
            step=0.5,
        ),
        _select(ids.SKYLINE, "Skyline", [("", stop_fields.LEVEL), *skylines], raw),
        _choice(
            ids.PACE, "The animal is", [(p.key, p.label) for p in PACES.values()], raw
        ),
        *_skies(raw, catalog),
        rigs(raw, catalog),
    ]


def conditions(raw: Raw, catalog: Catalog) -> list[Component]:
    """Return the controls for place, days, sky and cover alone."""
    return [place(raw, catalog), _days(raw), *_skies(raw, catalog)]


def _days(raw: Raw) -> html.Div:
    return html.Div(
        [_date(ids.FIRST, "First day", raw), _date(ids.LAST, "Last day", raw)],
        className="pair",
    )


def _skies(raw: Raw, catalog: Catalog) -> list[Component]:
    skies = [(s.key, s.label) for s in daylight.SKIES.values()]
    known = [(c.key, c.label) for c in covers.known(catalog.covers)]
    return [
        _select(ids.SKY, "Sky", skies, raw),
        _select(ids.COVER, "Over the animal", known, raw),
    ]


def _controls(
    raw: Raw, catalog: Catalog, when: Component, more: Component
) -> list[Component]:
    return [
        place(raw, catalog),
        when,
        _choice(
            ids.PACE, "The animal is", [(p.key, p.label) for p in PACES.values()], raw
        ),
        _choice(ids.FACING, "Lit from the", [(f.key, f.key) for f in FACINGS], raw),
        *_skies(raw, catalog),
        more,
        rigs(raw, catalog),
        html.Details(
            [
                html.Summary("What the proposed shutter assumes"),
                html.Div(
                    [
                        _number(ids.DISTANCE, "Distance, m", raw, step=5),
                        _number(ids.BLUR, "Blur allowed, px", raw, step=0.5),
                    ],
                    className="pair",
                ),
            ]
        ),
    ]


def order_choice(raw: Raw) -> html.Div:
    """Return the control for what drives are ordered by."""
    options = [(want.key, want.label) for want in compare.WANTS]
    return html.Div(_select(ids.ORDER, "Order by", options, raw), className="narrow")


def drive_sky() -> html.Div:
    """Return the control for the selected drive's own sky."""
    options = [("", "as for the trip")]
    options += [(sky.key, sky.label) for sky in daylight.SKIES.values()]
    return html.Div(
        dmc.Select(
            id=ids.DRIVE_SKY,
            label="Sky on this drive",
            value="",
            data=_data(options),
            allowDeselect=False,
            comboboxProps=POPUPS,
        ),
        className="narrow",
    )


def place(raw: Raw, catalog: Catalog) -> html.Div:
    """Return the controls of the place, and of coordinates of one's own."""
    names = [(p.name, p.name) for p in catalog.places]
    own = raw[ids.PLACE] == OWN
    return html.Div(
        [
            _select(ids.PLACE, "Place", [*names, (OWN, OWN)], raw),
            html.Div(
                [
                    html.Div(
                        [
                            _number(ids.LATITUDE, "Latitude, °N", raw, step=0.1),
                            _number(ids.LONGITUDE, "Longitude, °E", raw, step=0.1),
                        ],
                        className="pair",
                    ),
                    _select(
                        ids.ZONE,
                        "Time zone",
                        [(z, z) for z in localtime.zone_names()],
                        raw,
                        searchable=True,
                    ),
                ],
                id=ids.OWN_PLACE,
                className="" if own else "hidden",
            ),
        ]
    )


def rigs(raw: Raw, catalog: Catalog) -> html.Div:
    """Return the controls of all rigs."""
    return html.Div(
        [html.H2("Rigs to compare"), *_slots(raw, catalog), _add_rig()], id=ids.SLOTS
    )


def _slots(raw: Raw, catalog: Catalog) -> list[html.Fieldset]:
    return [_slot(slot, raw, catalog) for slot in range(MAX_RIGS)]


def _slot(slot: int, raw: Raw, catalog: Catalog) -> html.Fieldset:
    used = slot < len(raw.rigs)
    name, focal, aperture, shutter, iso = raw.rigs[slot] if used else [""] * 5
    letter = LETTERS[slot]
    f_numbers = [n for n in exposure.F_NUMBERS if 1.4 <= n <= 32]

    def field(kind: str) -> str:
        return ids.slot_field(kind, slot)

    # Settings move up with their rig when one above it is removed, so every slot
    # lists what any of them has.
    def listed(known: list[str], setting: int) -> list[str]:
        set_by_hand = [rig[setting].removeprefix("1/") for rig in raw.rigs]
        return list(dict.fromkeys([*known, *filter(None, set_by_hand)]))

    apertures = listed([f"{n:g}" for n in f_numbers], 2)
    shutters = listed([str(s) for s in _SHUTTERS], 3)
    ceilings = listed([str(s) for s in _CEILINGS], 4)
    return html.Fieldset(
        [
            html.Legend(f"Rig {letter}", className="visually-hidden"),
            html.Div(
                [
                    html.Span(
                        letter, className=f"rig rig-{letter}", **aria(hidden="true")
                    ),
                    dmc.Select(
                        id=field("rig"),
                        value=name or None,
                        data=_data([(r.name, r.name) for r in catalog.rigs]),
                        allowDeselect=False,
                        comboboxProps=POPUPS,
                        placeholder="choose a rig",
                        **aria(label=f"Rig {letter}"),
                    ),
                ],
                className="slot-head",
            ),
            html.Details(
                [
                    html.Summary("…", id=ids.slot_summary(slot)),
                    html.Div(
                        [
                            dmc.NumberInput(
                                id=field("focal"),
                                label="Focal length, mm",
                                value=_numeric(focal),
                                placeholder="longest",
                                hideControls=True,
                                debounce=400,
                            ),
                            _option(
                                field("aperture"),
                                "Aperture",
                                "widest",
                                "f/",
                                apertures,
                                aperture,
                            ),
                            _option(
                                field("shutter"),
                                "Shutter",
                                "proposed",
                                "1/",
                                shutters,
                                shutter.removeprefix("1/"),
                            ),
                            _option(
                                field("iso"),
                                "ISO ceiling",
                                "the body’s",
                                "ISO ",
                                ceilings,
                                iso,
                            ),
                        ],
                        className="pair wrap",
                    ),
                    html.Button(
                        f"Remove rig {letter}",
                        id=ids.remove_rig(slot),
                        className="quiet",
                        n_clicks=0,
                    ),
                ]
            ),
        ],
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
        data=_data([("", usual), *((t, f"{prefix}{t}") for t in texts)]),
        allowDeselect=False,
        comboboxProps=POPUPS,
    )


def _date(name: str, label: str, raw: Raw) -> dmc.TextInput:
    return dmc.TextInput(id=name, label=label, value=raw[name], inputProps=_DATE)


_DATE = {"type": "date", "min": "1950-01-01", "max": "2037-12-31"}


def _number(name: str, label: str, raw: Raw, step: float) -> dmc.NumberInput:
    return dmc.NumberInput(
        id=name, label=label, value=_numeric(raw[name]), step=step, debounce=400
    )


def _choice(
    name: str, label: str, options: list[tuple[str, str]], raw: Raw
) -> html.Div:
    return html.Div(
        [
            html.Div(label, id=f"{name}-label", className="label"),
            dmc.SegmentedControl(
                id=name,
                value=raw[name],
                data=_data(options),
                fullWidth=True,
                transitionDuration=0,
                **aria(labelledby=f"{name}-label"),
            ),
        ]
    )


def _select(
    name: str,
    label: str,
    options: list[tuple[str, str]],
    raw: Raw,
    searchable: bool = False,
) -> dmc.Select:
    return dmc.Select(
        id=name,
        label=label,
        value=raw[name],
        data=_data(options),
        allowDeselect=False,
        comboboxProps=POPUPS,
        searchable=searchable,
    )


def _data(options: list[tuple[str, str]]) -> list[dict[str, str]]:
    return [{"value": value, "label": label} for value, label in options]


def _numeric(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text
