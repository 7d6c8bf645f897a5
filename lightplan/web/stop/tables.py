"""The tables of the page Where to stop: by kind of light, by rig, by time."""

from itertools import groupby

import numpy as np
from dash import html
from dash.development.base_component import Component
from numpy.typing import NDArray

from lightplan import naming
from lightplan.camera import framing
from lightplan.light import backlight
from lightplan.naming import decimal
from lightplan.sky import localtime
from lightplan.stop import answer
from lightplan.stop import words as stop_words
from lightplan.stop.rim import RimDrive
from lightplan.stop.stop import Stop
from lightplan.trip import words
from lightplan.trip.plan import TripPlan
from lightplan.trip.request import LETTERS, RigChoice
from lightplan.web.parts import EVERY_MIN, Row, captioned, iso_cell, row

# A minute with a rim, or perhaps one, gets its own row.
_HOPE = ("works", "perhaps")


def sector_table(at: Stop, declination_deg: float | None) -> list[Component]:
    """Return where to stop and which way to look for each kind of light."""
    if not at.looks:
        return []
    columns = ["Light", "Look along, true"]
    if declination_deg is not None:
        columns.append(f"By the compass ({_declination(declination_deg)})")
    columns += ["Stop", "From the animal"]
    order = {s.key: i for i, s in enumerate(reversed(backlight.SECTORS))}
    rows = []
    for look in sorted(at.looks, key=lambda look: order[look.sector.key]):
        stand = backlight.stand_deg(look.middle_deg)
        cells = [stop_words.range_text(look)]
        if declination_deg is not None:
            cells.append(stop_words.range_text(look, declination_deg))
        cells += [f"{backlight.side_name(stand)} of it", metres(stand, at.distance_m)]
        rows.append([look.sector.label, *cells])
    caption = (
        f"Bearings clockwise from true north; {at.distance_m:g} m from the animal, "
        "counted in the middle of each range"
    )
    return captioned(caption, "By kind of light", columns, rows)


def _declination(east_deg: float) -> str:
    """Return ``3° W``."""
    side = " E" * (east_deg > 0) + " W" * (east_deg < 0)
    return f"{abs(east_deg):g}°{side}"


def metres(stand_deg: float, distance_m: float) -> str:
    """Return ``21 m north, 21 m east``; less than half a metre is left out."""
    north, east = backlight.offset_m(stand_deg, distance_m)
    named = (
        (north, "north" if north > 0 else "south"),
        (east, "east" if east > 0 else "west"),
    )
    return ", ".join(f"{abs(m):.0f} m {name}" for m, name in named if abs(m) >= 0.5)


def rig_table(plan: TripPlan, at: Stop) -> list[Component]:
    """Return the ISO each rig needs, and how far the sun is outside its frame."""
    columns = ["Rig", "For the face", "For the rim", "For a silhouette"]
    # These come first, as a narrow window may cut off the last columns.
    columns += ["Sun and frame", "Front of the lens"]
    columns += ["Angle of view", f"Frame at {at.distance_m:g} m"]
    rows = []
    for i, (choice, rig) in enumerate(zip(plan.request.rigs, at.rigs, strict=True)):
        name = html.Span(LETTERS[i], className=f"rig rig-{LETTERS[i]}")
        width, height = rig.view_deg
        across, up = rig.frame_m
        cells = [
            _iso(rig.face_iso, choice),
            _iso(rig.rim_iso, choice) if stop_words.has_edge(at) else "no rim",
            _iso(rig.silhouette_iso, choice),
            outside(at, rig.outside_deg),
            "in the sun" if rig.on_front and at.shadow_per_m < np.inf else "in shade",
            f"{width:.1f}° × {height:.1f}°",
            f"{across:.1f} × {up:.1f} m",
        ]
        rows.append([[name, f" {words.rig_name(plan, i)[2:]}"], *cells])
    along = ""
    if at.looks:
        along = f", looking along {naming.bearing(at.look_deg)}: {at.sector.label}"
    caption = (
        f"ISO at {plan.clock(at.utc)}{along}; struck through above the rig’s "
        "ceiling. Where the sun shines on the "
        "front of the lens, use the hood and shade it with a hand kept out of the frame"
    )
    return captioned(caption, "By rig", columns, rows)


def _iso(iso: float, choice: RigChoice) -> html.Td:
    over = answer.is_over(iso, choice)
    return iso_cell(stop_words.iso_text(iso), over)


def outside(at: Stop, outside_deg: float) -> str:
    """Return ``38° outside, well clear``; or that the sun does not show."""
    if at.trouble in ("down", "skyline"):
        return "sun is down" if at.trouble == "down" else "behind the skyline"
    if not at.looks:
        return "–"
    near = framing.nearness(outside_deg)
    if near is framing.INSIDE:
        return f"{near.label}: use the screen"
    return f"{outside_deg:.0f}° outside, {near.label}"


def time_table(plan: TripPlan, of: RimDrive) -> list[Component]:
    """Return the rim every ten minutes; a run without one takes one row."""
    aimed = of.aim_deg is not None
    columns = ["Time", "Rim", "Sun bearing", "Sun altitude", "Shadow of 1 m"]
    columns += ["Edge over shadow side", *["Along the aim"] * aimed]
    drive = of.drive
    walls = localtime.to_wall(plan.request.place.timezone, drive.utc)
    of_day = walls.astype("datetime64[m]").astype(np.int64)
    every = np.flatnonzero(of_day % EVERY_MIN == 0).tolist()
    listed = sorted({0, len(drive.utc) - 1, *every})
    rows: list[Row] = []
    for word, run in groupby(listed, key=lambda i: rim_word(of, i)):
        minutes = list(run)
        if word in _HOPE or len(minutes) == 1:
            rows += [_time_row(plan, of, i) for i in minutes]
        else:
            rows.append(_run_row(plan, of, minutes, len(columns) - 2))
    aim = (
        f"along your aim, {naming.bearing(of.aim_deg)}"
        if of.aim_deg is not None
        else "in the middle of the rim light, which follows the sun"
    )
    return captioned(
        f"Looking {aim}; altitudes as seen, with refraction",
        "By time",
        columns,
        rows,
    )


def _time_row(plan: TripPlan, of: RimDrive, i: int) -> html.Tr:
    drive = of.drive
    stops = f"{of.stops[i]:.1f} stops" if of.stops[i] >= 0.05 else "–"
    cells = [
        rim_word(of, i),
        naming.bearing(float(drive.azimuth_deg[i])),
        stop_words.degrees(float(drive.apparent_deg[i])),
        stop_words.shadow_text(float(of.shadow_per_m[i])),
        stops,
    ]
    if of.aim_deg is not None:
        sector = backlight.SECTORS[int(backlight.sector_index(of.facing_deg[i]))]
        cells.append(sector.label)
    time = plan.clock(drive.utc[i])
    return row([time, *cells], className="chosen" if of.works[0, i] else "")


def _run_row(plan: TripPlan, of: RimDrive, run: list[int], across: int) -> Row:
    """Return one row for a run of minutes without a rim for the same reason."""
    first, last = run[0], run[-1]
    heights = of.drive.apparent_deg[first : last + 1]
    times = "–".join(plan.clock(of.drive.utc[i]) for i in (first, last))
    ends = [naming.bearing(float(of.drive.azimuth_deg[i])) for i in (first, last)]
    way = f"at {ends[0]}" if ends[0] == ends[1] else f"from {ends[0]} to {ends[1]}"
    path = f"{way}, {_height_range(heights)}"
    across_cell = html.Td(html.Span(path, className="stop-run"), colSpan=across)
    return [times, rim_word(of, first), across_cell]


def _height_range(heights_deg: NDArray[np.float64]) -> str:
    """Return ``15.8–31.1° high`` or ``0.4–13.6° below the horizon``."""
    down = bool(np.max(heights_deg) <= 0)
    least, most = sorted(np.abs((np.min(heights_deg), np.max(heights_deg))).tolist())
    text = "–".join(dict.fromkeys((decimal(least), decimal(most))))
    return f"{text}° {'below the horizon' if down else 'high'}"


def rim_word(of: RimDrive, i: int) -> str:
    """Say in a word or two whether the rim works at a minute, or why not."""
    if of.works[0, i]:
        return "works"
    if of.drive.apparent_deg[i] <= 0:
        return "sun is down"
    if not of.sun_shows[i]:
        return "behind the skyline"
    if of.works[2, i]:
        return "perhaps"
    if not of.low[i]:
        return "sun too high"
    if not of.behind[i]:
        return "sun not behind the animal"
    return "too little sun"


def readings(plan: TripPlan, of: RimDrive) -> list[list[str]]:
    """Return the readout of each minute: the time, and the rest of the line."""
    drive = of.drive
    shadows = of.shadow_per_m
    lines = []
    for i, utc in enumerate(drive.utc):
        parts = [
            f"sun {naming.bearing(float(drive.azimuth_deg[i]))}, "
            f"{stop_words.height(float(drive.apparent_deg[i]))}"
        ]
        if np.isfinite(shadows[i]):
            length = stop_words.shadow_text(float(shadows[i]))
            parts.append(f"1 m casts a {length} shadow")
        if of.stops[i] >= 0.05:
            parts.append(f"edge {of.stops[i]:.1f} stops brighter than the shadow side")
        parts.append(f"rim: {rim_word(of, i)}")
        lines.append([plan.clock(utc), " · ".join(parts)])
    return lines
