"""A whole `TripPlan` as JSON, for programs that build on it.

Format "lightplan-plan", version 1. Keys may be added within a version, so readers
pass over those they do not know; a key that changes its meaning or goes makes a
new version.

Keys carry their unit: ``_deg``, ``_m``, ``_mm``, ``_s``, ``_min``, ``_lux``,
``_stops``; ``_utc`` is an instant as RFC 3339 writes it, ``2027-08-12T13:30:00Z``,
those of the sun to the nearest second. Dates are local,
ISO 8601. null marks what does not exist: a sunset under the midnight sun, the
first minute of a rig that is never usable. Angles by the minute are to 0.0001°,
lux, ISO and settings to six digits. The place's latitude_deg and longitude_deg are
null unless the position was asked for, and then as they were given.

::

    format, version      "lightplan-plan", 1
    request              what was chosen
      place              as in locations.example.toml: name, latitude_deg, …
      first, last        dates
      pace, facing, sky, cover, travel_min, hold, animal, distance_m, blur_px,
      gold, warm_k (light below it is warm)
      limits             golden_low_deg, golden_high_deg, hard_deg
      skies              sky by drive key, for drives with another sky than the trip
      rigs[]             letter, focal_mm, f_number, shutter_s, iso_ceiling, and
                         name, body, lens, converter as in locations.example.toml;
                         ceiling_typed says whether a person set it, or noise;
                         in_frame as below
      output             what the picture is for: web, a3, file
    in_frame             the animal as a rig sees it, null where it is too near:
                         filled_share (of the frame, along the tighter side),
                         body_px, head_px, fills_at_m (distance at which it fills
                         0.6), near_m, far_m (null is endless), nose_to_tail,
                         pair_f_number, background_share (blur 10 m behind, of the
                         picture's height), used_share (of the frame's area, cropped
                         to the narrowest view of the rigs), megapixels left of it,
                         clean_iso and usable_iso of that picture
    facings[]            key, label, angle_deg between camera and sun at the animal
    windows[]            key, label, lower_deg, upper_deg: altitudes of named light
    spread_stops         half-width of the trip's spread
    days[]               date and the sun's events by geometric altitude: noon_utc,
                         sunrise_utc, sunset_utc, dawn_utc, dusk_utc,
                         lowest_before_utc, lowest_after_utc, noon_altitude_deg,
                         lowest_altitude_deg
    sessions[]           in order; held says whether there is a drive
      key, date, session, held
      reason             of one not held
      opens_utc, closes_utc, gated, notes[], turn_back_utc, sky, spread_stops
      aod500             of the air: the aerosol's optical depth at 500 nm
      warm, beam         first_utc, last_utc of warm light on the requested side and of
                         the sun on the animal; null where there is none
      windows[]          key, start_utc, end_utc, length_min inside the gates
      outcomes[rig][facing]
                         usable_min, usable_golden_min, hopeful, and first, last:
                         utc, earliest_utc, latest_utc. hopeful says whether the
                         bright end of the spread has a usable minute
        stretches[]      of usable minutes: first_utc, last_utc
        ladder[]         fastest first: the rig's own shutter time and the full stops
                         1/8000, 1/4000, … 1/30 s that the ceiling allows at some
                         minute: shutter_s, first_utc, last_utc, and sharp_share, the
                         share of frames that are sharp, 0 to 1
      moon               lit (0 to 1), altitude_deg[minute]; null where no minute
                         is dark
      minutes            arrays; element i is i minutes after opens_utc, the last
                         one is closes_utc
        altitude_deg[], apparent_deg[], azimuth_deg[]
                         of the sun: geometric, refracted, from true north
        temperature_k[facing][]
                         colour of the light to 10 K, null in the dark
        light_lux[facing][], needed_iso[rig][facing][]
    notes[], cautions[]  sentences, as page and table show them

turn_back_utc is closes_utc less travel_min, also where there is no gate or it is
before opens_utc. Usable minutes and ladders end there on a gated drive if it is after
opens_utc, else at closes_utc; that minute itself is not counted.
"""

import datetime as dt
import json
import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lightplan.light import daylight
from lightplan.trip import frame, words
from lightplan.trip.drives import Closed, Day
from lightplan.trip.frame import InFrame
from lightplan.trip.minutes import Outcome, Run, Span
from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.trip.request import FACINGS, LETTERS, RigChoice

FORMAT, VERSION = "lightplan-plan", 1

_HALF_SECOND = np.timedelta64(500, "ms")


def document(plan: TripPlan, with_position: bool = False) -> dict[str, Any]:
    """Return the plan as described at the head of this module.

    Parameters
    ----------
    plan : TripPlan
        From `plan.make`.
    with_position : bool
        Whether the place has its coordinates, else null.

    Returns
    -------
    dict
        Of what JSON knows: dicts, lists, strings, finite numbers, bools, None.
    """
    return {
        "format": FORMAT,
        "version": VERSION,
        "request": _request(plan, with_position),
        "facings": [facing._asdict() for facing in FACINGS],
        "windows": [window._asdict() for window in plan.windows],
        "spread_stops": _six_digits(plan.spread_stops),
        "days": [_day(day) for day in plan.days],
        "sessions": [
            _closed(row) if isinstance(row, Closed) else _drive(row)
            for row in plan.rows
        ],
        "notes": list(words.notes(plan)),
        "cautions": list(words.CAUTIONS),
    }


def dumps(plan: TripPlan, with_position: bool = False) -> bytes:
    """Return `document` as a JSON file (RFC 8259, UTF-8)."""
    text = json.dumps(
        document(plan, with_position),
        ensure_ascii=False,
        allow_nan=False,
        separators=(",", ":"),
    )
    return f"{text}\n".encode()


def _request(plan: TripPlan, with_position: bool) -> dict[str, Any]:
    request = plan.request
    place = request.place.model_dump(mode="json", by_alias=True)
    if not with_position:
        place.update(latitude_deg=None, longitude_deg=None)
    return {
        "place": place,
        "first": request.first.isoformat(),
        "last": request.last.isoformat(),
        "pace": request.pace,
        "facing": request.facing,
        "sky": request.sky,
        "cover": daylight.cover_named(request.cover).key,
        "travel_min": request.travel_min,
        "limits": request.limits._asdict(),
        "skies": dict(request.skies),
        "gold": request.gold,
        "warm_k": request.warm_k,
        "output": request.output,
        "hold": request.hold,
        "animal": request.animal,
        "distance_m": _six_digits(request.distance_m),
        "blur_px": _six_digits(request.blur_px),
        "rigs": [
            _rig(letter, choice, seen)
            for letter, choice, seen in zip(
                LETTERS, request.rigs, frame.in_frame(request), strict=False
            )
        ],
    }


def _rig(letter: str, choice: RigChoice, seen: InFrame | None) -> dict[str, Any]:
    return {
        "letter": letter,
        **choice.rig.model_dump(mode="json", by_alias=True),
        "focal_mm": _six_digits(choice.focal_mm),
        "f_number": _six_digits(choice.f_number),
        "shutter_s": _six_digits(choice.shutter_s),
        "iso_ceiling": _six_digits(choice.iso_ceiling),
        "ceiling_typed": choice.ceiling_typed,
        "in_frame": seen and {k: _plain(v) for k, v in seen._asdict().items()},
    }


def _plain(value: float | bool) -> float | bool | None:
    if isinstance(value, bool):
        return value
    return _six_digits(value) if math.isfinite(value) else None


def _day(day: Day) -> dict[str, Any]:
    events = {
        key: _utc(value) if key.endswith("_utc") else _angle(value)
        for key, value in day.sun._asdict().items()
    }
    return {"date": day.date.isoformat(), **events}


def _closed(closed: Closed) -> dict[str, Any]:
    return {
        **_session(closed.key, closed.date, closed.session),
        "held": False,
        "reason": closed.reason,
    }


def _drive(drive: DrivePlan) -> dict[str, Any]:
    return {
        **_session(drive.key, drive.date, drive.session),
        "held": True,
        "opens_utc": _utc(drive.opens_utc),
        "closes_utc": _utc(drive.closes_utc),
        "gated": drive.gated,
        "notes": list(drive.notes),
        "turn_back_utc": _utc(drive.turn_back_utc),
        "sky": drive.sky,
        "aod500": drive.kind.aod500,
        "warm": _ends(drive.warm),
        "beam": _ends(drive.sun_on),
        "spread_stops": _six_digits(drive.spread_stops),
        "windows": [
            {
                "key": stretch.window.key,
                "start_utc": _utc(stretch.start_utc),
                "end_utc": _utc(stretch.end_utc),
                "length_min": stretch.minutes,
            }
            for stretch in drive.windows
        ],
        "outcomes": [[_outcome(o) for o in of_rig] for of_rig in drive.outcomes],
        "moon": _moon(drive),
        "minutes": {
            "altitude_deg": _angles(drive.altitude_deg),
            "apparent_deg": _angles(drive.apparent_deg),
            "azimuth_deg": _angles(drive.azimuth_deg),
            "temperature_k": [_kelvins(of_facing) for of_facing in drive.kelvin],
            "light_lux": [_amounts(of_facing) for of_facing in drive.lux],
            "needed_iso": [
                [_amounts(of_facing) for of_facing in of_rig] for of_rig in drive.iso
            ],
        },
    }


def _ends(runs: tuple[Run, ...]) -> dict[str, Any] | None:
    """Return the first and last minute of all runs together, null if there is none."""
    if not runs:
        return None
    return {"first_utc": _utc(runs[0].first_utc), "last_utc": _utc(runs[-1].last_utc)}


def _session(key: str, date: dt.date, session: str) -> dict[str, Any]:
    return {"key": key, "date": date.isoformat(), "session": session}


def _outcome(outcome: Outcome) -> dict[str, Any]:
    return {
        "usable_min": outcome.usable_min,
        "usable_golden_min": outcome.usable_golden_min,
        "hopeful": outcome.possible,
        "first": _span(outcome.first),
        "last": _span(outcome.last),
        "stretches": [
            {"first_utc": _utc(run.first_utc), "last_utc": _utc(run.last_utc)}
            for run in outcome.stretches
        ],
        "ladder": [
            {
                "shutter_s": _six_digits(rung.shutter_s),
                "first_utc": _utc(rung.first_utc),
                "last_utc": _utc(rung.last_utc),
                "sharp_share": _six_digits(rung.sharp_share),
            }
            for rung in outcome.ladder
        ],
    }


def _span(span: Span | None) -> dict[str, Any] | None:
    return None if span is None else {k: _utc(v) for k, v in span._asdict().items()}


def _moon(drive: DrivePlan) -> dict[str, Any] | None:
    if drive.moon is None:
        return None
    return {
        "lit": _six_digits(drive.moon.fraction),
        "altitude_deg": _angles(drive.moon.altitude_deg),
    }


def _utc(instant: np.datetime64 | None) -> str | None:
    if instant is None:
        return None
    second = (instant + _HALF_SECOND).astype("datetime64[s]")
    return f"{np.datetime_as_string(second)}Z"


def _angles(degrees: NDArray[np.float64]) -> list[float | None]:
    return [_angle(angle) for angle in degrees.tolist()]


def _kelvins(values: NDArray[np.float64]) -> list[int | None]:
    return [None if np.isnan(k) else int(round(k, -1)) for k in values.tolist()]


def _angle(degrees: float) -> float | None:
    return None if np.isnan(degrees) else round(degrees, 4) + 0.0  # no "-0.0"


def _amounts(values: NDArray[np.float64]) -> list[float]:
    return [_six_digits(value) for value in values.tolist()]


def _six_digits(value: float) -> float:
    return float(f"{value:.6g}")
