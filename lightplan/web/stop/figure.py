"""Where to stop, seen from above: sun, shadow, sectors of light and the vehicle.

A ground plan and a piece of sky have the same centre, the animal. Inside are the
vehicle and the shadow; around them a band that names the light wherever the vehicle
may stand; outside is the sky, with the horizon as its edge. North is up.
"""

import numpy as np
from numpy.typing import NDArray

from lightplan.sky import localtime, skyline
from lightplan.sky.skyline import Points
from lightplan.stop.rim import RimDrive
from lightplan.stop.stop import Stop
from lightplan.trip.plan import TripPlan
from lightplan.web.figures.base import Figure, sheet
from lightplan.web.figures.labels import Label, Point, meet
from lightplan.web.figures.theme import Theme, faded
from lightplan.web.stop import beside, ground
from lightplan.web.stop.beside import FAR, Name

# Radii. A sun above the top of the sky drawn is put at its inner edge.
_TOP, HORIZON, _COMPASS, EDGE = 1.12, 1.36, 1.43, 1.62
_TOP_DEG = 30.0
_LOWEST_DEG = -6.0  # a sun lower than civil twilight is not drawn
_SUN_PX = 15
_EVERY_MIN = 30  # between times on the path, where there is room


def stop_figure(
    plan: TripPlan, of: RimDrive, at: Stop, theme: Theme, horizon: Points = ()
) -> Figure:
    """Return the drawing for one minute of a drive."""
    return {
        "data": [*_path(of, theme), _ticks(plan, of, theme), *_sun(at, theme)],
        "layout": {
            **sheet(theme),
            "margin": {"l": 0, "r": 0, "t": 0, "b": 0},
            "xaxis": _axis(),
            "yaxis": {**_axis(), "scaleanchor": "x"},
            "shapes": [
                *_skyline(horizon, theme),
                ground.circle(HORIZON, theme.ink, 1.2),
                *ground.shapes(at, theme),
            ],
            "annotations": [
                *ground.names(at, theme, EDGE),
                *_sky_names(plan, of, at, theme),
            ],
        },
    }


def _axis() -> Figure:
    return {"range": [-EDGE, EDGE], "visible": False, "fixedrange": True}


def in_sky(azimuth_deg: float, apparent_deg: float) -> Point:
    """Return where a point of the sky is drawn."""
    share = min(apparent_deg, _TOP_DEG) / _TOP_DEG
    return ground.point(azimuth_deg, HORIZON - (HORIZON - _TOP) * share)


def _drawn(of: RimDrive) -> NDArray[np.bool_]:
    return np.asarray(of.drive.apparent_deg >= _LOWEST_DEG)


def _places(of: RimDrive) -> list[Point]:
    """Return where the sun is drawn at every minute."""
    both = zip(
        of.drive.azimuth_deg.tolist(), of.drive.apparent_deg.tolist(), strict=True
    )
    return [in_sky(azimuth, apparent) for azimuth, apparent in both]


def _path(of: RimDrive, theme: Theme) -> list[Figure]:
    """Return the sun's path over the drive, thick while the rim works."""
    below_top = _drawn(of) & (of.drive.apparent_deg <= _TOP_DEG)
    return [
        _trace(of, of.works[0], theme.light["golden"], 8.0),
        _trace(of, below_top, theme.ink, 1.4),
    ]


def _trace(of: RimDrive, kept: NDArray[np.bool_], colour: str, width: float) -> Figure:
    both = zip(_places(of), kept.tolist(), strict=True)
    points = [point if keep else (None, None) for point, keep in both]
    return {
        "type": "scatter",
        "mode": "lines",
        "x": [x for x, _ in points],
        "y": [y for _, y in points],
        "line": {"color": colour, "width": width},
        "hoverinfo": "skip",
    }


def _ticks(plan: TripPlan, of: RimDrive, theme: Theme) -> Figure:
    """Return a dot on the path at each time that may be named."""
    places = _places(of)
    points = [places[i] for i in _named(plan, of)]
    return {
        "type": "scatter",
        "mode": "markers",
        "x": [x for x, _ in points],
        "y": [y for _, y in points],
        "marker": {"size": 5, "color": theme.ink},
        "hoverinfo": "skip",
    }


def _has_sun(at: Stop) -> bool:
    return bool(at.looks) and at.apparent_deg >= _LOWEST_DEG


def _sun(at: Stop, theme: Theme) -> list[Figure]:
    if not _has_sun(at):
        return []
    x, y = in_sky(at.azimuth_deg, at.apparent_deg)
    return [
        {
            "type": "scatter",
            "mode": "markers",
            "x": [x],
            "y": [y],
            "marker": {
                "size": _SUN_PX,
                "color": theme.light["golden"],
                "line": {"color": theme.ink, "width": 1.5},
            },
            "hoverinfo": "skip",
        }
    ]


def _skyline(horizon: Points, theme: Theme) -> list[Figure]:
    """Return the skyline, a band on the horizon."""
    if not horizon:
        return []
    bearings = np.arange(0.0, 361.0, 3.0)
    heights = np.maximum(skyline.altitude_deg(horizon, bearings), 0.0)
    both = zip(bearings.tolist(), heights.tolist(), strict=True)
    inner = [in_sky(bearing, height) for bearing, height in both]
    outer = [in_sky(bearing, 0.0) for bearing in bearings.tolist()]
    return [
        {
            "type": "path",
            "layer": "below",
            "path": ground.polygon([*outer, *inner[::-1]]),
            "fillcolor": faded(theme.light["twilight"], 0.55),
            "line": {"width": 0},
        }
    ]


# ------------------------------------------------------------- names


def _sky_names(plan: TripPlan, of: RimDrive, at: Stop, theme: Theme) -> list[Figure]:
    """Name north, east, south and west, the sun, and times along its path."""
    compass = [_letter(90.0 * i, text, theme) for i, text in enumerate("NESW")]
    letters = [beside.lettering(n["text"], (n["x"], n["y"])) for n in compass]
    places, seen = _places(of), _drawn(of)
    path = [
        beside.spot(point, 0.02)
        for point, shown in zip(places, seen.tolist(), strict=True)
        if shown
    ]
    times = _times(plan, of, places, theme)
    sectors = ground.sector_boxes(at)
    if not _has_sun(at):
        room = beside.room([*sectors, *letters, *path], EDGE)
        return [*compass, *beside.place(times, room, theme.surface)]
    label = [_sun_name(plan, at, places, theme)]
    disc = beside.disc(places[at.minute], _SUN_PX / 2 - 1)
    # Rather a letter left out, or the path hidden, than the sun without its time.
    for spared in ([*letters, *path], path, []):
        taken = [*sectors, disc, *spared]
        sun = beside.place(label, beside.room(taken, EDGE), theme.surface)
        if sun:
            break
    free = [not (sun and meet(box, taken[-1])) for box in letters]
    kept = [note for note, keep in zip(compass, free, strict=True) if keep]
    room = beside.room([*taken, *letters, *path], EDGE)
    return [*kept, *sun, *beside.place(times, room, theme.surface)]


def _sun_name(plan: TripPlan, at: Stop, places: list[Point], theme: Theme) -> Name:
    x, y = _beside(places, at.minute)
    time = plan.clock(at.utc)
    gaps = tuple(11 * times for times in FAR)
    return Name(
        Label(f"sun {time}", places[at.minute], (-x, -y), gaps, bold=True),
        theme.ink,
        beyond=ground.BAND_OUT,
        ring=HORIZON,
        narrow=f"sun<br>{time}",
    )


def _letter(bearing_deg: float, text: str, theme: Theme) -> Figure:
    x, y = ground.point(bearing_deg, _COMPASS)
    font = {"size": 13, "color": theme.ink}
    return {"x": x, "y": y, "text": text, "showarrow": False, "font": font}


def _times(
    plan: TripPlan, of: RimDrive, places: list[Point], theme: Theme
) -> list[Name]:
    """Return the clock along the path."""
    return [
        Name(
            Label(plan.clock(of.drive.utc[i]), places[i], _beside(places, i)),
            theme.muted,
            beyond=ground.BAND_OUT,
            ring=HORIZON,
        )
        for i in _named(plan, of)
    ]


def _named(plan: TripPlan, of: RimDrive) -> list[int]:
    """Return the minutes to label, whole hours first in case room is short."""
    walls = localtime.to_wall(plan.request.place.timezone, of.drive.utc)
    of_day = walls.astype("datetime64[m]").astype(np.int64)
    shown = _drawn(of) & (of.drive.apparent_deg <= _TOP_DEG)
    minutes = np.flatnonzero((of_day % _EVERY_MIN == 0) & shown).tolist()
    return sorted(minutes, key=lambda i: (of_day[i] % 60 != 0, i))


def _beside(places: list[Point], minute: int) -> Point:
    """Return the direction at right angles to the sun's path, to its left."""
    (x0, y0), (x1, y1) = (
        places[max(minute - 3, 0)],
        places[min(minute + 3, len(places) - 1)],
    )
    length = float(np.hypot(x1 - x0, y1 - y0)) or 1.0
    return -(y1 - y0) / length, (x1 - x0) / length
