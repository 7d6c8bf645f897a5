"""The selected drive in numbers: each rig by side of the sun, and the minutes."""

from typing import Any

import numpy as np
from dash import html
from dash.development.base_component import Component
from numpy.typing import NDArray

from lightplan import naming
from lightplan.camera import exposure
from lightplan.naming import decimal
from lightplan.sky import localtime
from lightplan.trip import ladder_words, words
from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.trip.request import FACINGS, LETTERS
from lightplan.web.parts import EVERY_MIN, captioned, iso_cell


def rig_table(plan: TripPlan, drive: DrivePlan) -> list[Component]:
    """Return first and last minute of each rig from each side of the sun."""
    rows = [
        [
            [
                html.Span(LETTERS[rig], className=f"rig rig-{LETTERS[rig]}"),
                f" {words.rig_name(plan, rig)[2:]}",
                html.Span(f" up to {choice.ceiling_text}", className="muted"),
            ],
            *(_span(plan, drive, rig, f) for f in range(len(FACINGS))),
        ]
        for rig, choice in enumerate(plan.request.rigs)
    ]
    caption = "Usable from – to, earliest–latest in brackets, and for how long"
    if drive.can_turn_back:
        caption += "; up to turn-back"
    caption += ". Below, slower shutter speeds and how many frames are sharp"
    caption += f". Shutter speeds are proposed for: {words.holding(plan.request)}"
    caption += f". {ladder_words.proposal(plan.request)}"
    if limbs := ladder_words.limbs(plan.request):
        caption += f". {limbs}"
    head = ["Rig", *(f.label for f in FACINGS)]
    return captioned(caption, "Rigs by side of the sun", head, rows)


def _span(plan: TripPlan, drive: DrivePlan, rig: int, facing: int) -> list[Any]:
    outcome = drive.outcomes[rig][facing]
    slower: list[Any] = []
    for rung in ladder_words.slower(drive, outcome, plan.request.rigs[rig]):
        slower += [html.Br(), ladder_words.rung(plan, drive, rung)]
    if outcome.first is None or outcome.last is None:
        text = "only in more light" if outcome.possible else "not usable"
        return [text, html.Br(), html.Span("0 min", className="muted"), *slower]
    lines: list[Any] = [ladder_words.stretches(plan, outcome)]
    for name, spread in (
        ("start", words.first_spread(plan, drive, outcome)),
        ("end", words.last_spread(plan, drive, outcome)),
    ):
        if spread:
            lines += [html.Br(), html.Span(f"{name}{spread}", className="muted")]
    minutes = f"{outcome.usable_min} min, {outcome.usable_golden_min} golden"
    return [*lines, html.Br(), html.Span(minutes, className="muted"), *slower]


def minute_table(plan: TripPlan, drive: DrivePlan) -> list[Component]:
    """Return the picture's numbers every ten minutes and where something turns."""
    facing = [f.key for f in FACINGS].index(plan.request.facing)
    rigs = [f"{LETTERS[i]} {c.label}" for i, c in enumerate(plan.request.rigs)]
    # The ISO first: a phone shows no more than the first columns.
    head = [
        "Time",
        "Light",
        *rigs,
        "EV at ISO 100",
        "Colour",
        "Sun altitude",
        "Sun bearing",
    ]
    ev = exposure.ev100(drive.lux[facing])
    usable = _usable(plan, drive, facing)
    rows = []
    for i in _listed(plan, drive, facing):
        sky = [
            decimal(ev[i]),
            _colour(drive, facing, i),
            f"{decimal(drive.altitude_deg[i])}°",
            naming.bearing(float(drive.azimuth_deg[i])),
        ]
        iso = [
            iso_cell(
                plan.request.rigs[rig].set_text(float(drive.iso[rig, facing, i])),
                not usable[rig, i],
                _fastest(plan, drive, rig, facing, i),
            )
            for rig in range(len(plan.request.rigs))
        ]
        rows.append([plan.clock(drive.utc[i]), _window(drive, i), *iso, *sky])
    lit = FACINGS[facing].label.capitalize()
    caption = (
        f"{lit}; an ISO above its rig’s ceiling is struck through, below it the "
        "fastest shutter speed that the ceiling allows. Altitudes are "
        "geometric, as for sunrise and golden light; a low sun looks up to half a "
        "degree higher, as Where to stop shows it"
    )
    return captioned(caption, "By the minute", head, rows)


def _colour(drive: DrivePlan, facing: int, i: int) -> str:
    """Return ``4,250 K, 235 mired``, or a dash in the dark."""
    kelvin = float(drive.kelvin[facing, i])
    if np.isnan(kelvin):
        return "–"
    return f"{naming.kelvin(kelvin)}, {round(1e6 / kelvin)} mired"


def _read_colour(drive: DrivePlan, facing: int, i: int) -> str:
    kelvin = float(drive.kelvin[facing, i])
    return "" if np.isnan(kelvin) else f" · {naming.kelvin(kelvin)}"


def _listed(plan: TripPlan, drive: DrivePlan, facing: int) -> list[int]:
    """Every tenth minute, each window's start, each rig's first and last minute."""
    walls = localtime.to_wall(plan.request.place.timezone, drive.utc)
    of_hour = walls.astype("datetime64[m]").astype(np.int64)
    starts = [int(np.searchsorted(drive.utc, s.start_utc)) for s in drive.windows]
    every = np.flatnonzero(of_hour % EVERY_MIN == 0).tolist()
    spans = [s for rig in drive.outcomes for s in (rig[facing].first, rig[facing].last)]
    turns = [drive.minute(span.utc) for span in spans if span]
    return sorted({0, len(drive.utc) - 1, *starts, *every, *turns})


def _window(drive: DrivePlan, i: int) -> str:
    for stretch in drive.windows:
        if drive.utc[i] < stretch.end_utc:
            return stretch.window.label
    return drive.windows[-1].window.label


def _usable(plan: TripPlan, drive: DrivePlan, facing: int) -> NDArray[np.bool_]:
    """Return whether the ISO is below its ceiling, by rig and minute."""
    ceilings = np.array([[choice.iso_ceiling] for choice in plan.request.rigs])
    return np.asarray(exposure.stops_over(drive.iso[:, facing], ceilings) <= 0)


def _fastest(plan: TripPlan, drive: DrivePlan, rig: int, facing: int, i: int) -> str:
    """Return the fastest shutter time that the ceiling allows, ``up to 1/800``."""
    choice = plan.request.rigs[rig]
    least = choice.shutter_s * drive.iso[rig, facing, i] / choice.iso_ceiling
    return ladder_words.fastest(float(least))


def _moon(drive: DrivePlan, i: int) -> str:
    if drive.moon is None or not drive.moon.altitude_deg[i] > 0:
        return ""
    lit = naming.percent(drive.moon.fraction)
    return f" · moon at {drive.moon.altitude_deg[i]:.0f}°, {lit} lit"


def readings(plan: TripPlan, drive: DrivePlan) -> dict[str, list[Any]]:
    """Return what is read off at each minute, as texts for the browser.

    ``head`` holds one line a minute, ``rigs`` a list of ISO texts per rig,
    ``names`` the rigs' names.
    """
    facing = [f.key for f in FACINGS].index(plan.request.facing)
    ev = exposure.ev100(drive.lux[facing])
    usable = _usable(plan, drive, facing)
    heads: list[Any] = []
    for i, utc in enumerate(drive.utc):
        altitude = f"{decimal(drive.altitude_deg[i])}°"
        value = decimal(ev[i])
        heads.append(
            [
                plan.clock(utc),
                f"{_window(drive, i)} · sun at {altitude}, "
                f"{naming.bearing(float(drive.azimuth_deg[i]))} · EV {value}"
                f"{_read_colour(drive, facing, i)}{_moon(drive, i)}",
            ]
        )
    rigs: list[Any] = [
        [
            plan.request.rigs[rig].set_text(float(iso))
            + ("" if usable[rig, i] else ", over its ceiling")
            + f"; {_fastest(plan, drive, rig, facing, i)}"
            for i, iso in enumerate(drive.iso[rig, facing])
        ]
        for rig in range(len(plan.request.rigs))
    ]
    names: list[Any] = [
        f"{LETTERS[i]} {c.label}" for i, c in enumerate(plan.request.rigs)
    ]
    return {"head": heads, "rigs": rigs, "names": names}
