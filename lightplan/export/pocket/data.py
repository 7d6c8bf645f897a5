"""What the pocket page knows: a `TripPlan` by the minute, packed for its script.

Every text and number is the plan's. Texts that recur are held once, and a run
of minutes is a string of ``index.minutes`` tokens in base 36, so that two weeks
with six rigs stay small enough to send by message.
"""

import datetime as dt
from collections.abc import Iterable
from hashlib import sha256
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lightplan import naming
from lightplan.arrays import nearest_minute, runs, true_runs
from lightplan.camera import exposure
from lightplan.sky import localtime
from lightplan.trip import ladder_words, words
from lightplan.trip.drives import Closed
from lightplan.trip.minutes import Outcome, usable_by_spread
from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.trip.request import FACING_INDEX, FACINGS, LETTERS, RigChoice

_MINUTE = np.timedelta64(1, "m")
_DAY = np.timedelta64(1, "D")
# Where the page may be opened long before the trip or after it, a year either way.
_MARGIN = np.timedelta64(370, "D")
_DIGITS = "0123456789abcdefghijklmnopqrstuvwxyz"

# Needed ISO as people read it; the last one is for all values beyond the scale.
ISO_TEXTS = tuple(
    exposure.iso_text(iso) for iso in (*exposure.ISO_SPEEDS, float("inf"))
)


def data(plan: TripPlan) -> dict[str, Any]:
    """Return the plan as plain values for JSON.

    Parameters
    ----------
    plan : TripPlan
        From `plan.make`.

    Returns
    -------
    dict
        Instants are minutes since 1970 in UTC, a drive's minutes count from
        its opening. Arrays of a drive run over its n minutes, both gates
        included: ``iso[rig][side]`` and ``bearing`` are runs of indices into
        ``isos`` and ``bearings``; texts after ``isos[beyond]`` are those of a base
        ISO with the faster shutter time it takes; ``altitude``, as the sun is seen,
        is in tenths of a degree, stored as differences; ``usable[rig][side]`` holds
        [start, end, start, end, …] three times: as expected, at the dark end
        of the spread, at its bright end, all up to turn-back; ``within[rig][side]``
        holds them once, as expected, up to the closing. ``ladder[rig][side]``
        holds the slower shutter times shown as [shutter, share of sharp
        frames, first minute, last minute].
    """
    request = plan.request
    bearings: dict[str, int] = {}
    isos = {text: i for i, text in enumerate(ISO_TEXTS)}
    drives = [_drive(plan, drive, bearings, isos) for drive in plan.drives]
    return {
        "id": _key(plan),
        "zone": request.place.timezone,
        "offsets": _offsets(plan),
        "sides": [facing.label for facing in FACINGS],
        "side": FACING_INDEX[request.facing],
        "rigs": [
            {
                "letter": LETTERS[rig],
                "name": words.rig_name(plan, rig),
                "label": choice.label,
                "focal": f"{choice.focal_mm:.0f} mm",
                "kit": choice.rig.name,
                "ceiling": choice.ceiling_text,
                # In third stops from the first of ``isos``, for the picture.
                "ceilingStep": round(
                    3 * float(np.log2(choice.iso_ceiling / exposure.ISO_SPEEDS[0])), 2
                ),
                "baseStep": int(iso_index(np.array(choice.rig.body.base_iso))),
            }
            for rig, choice in enumerate(request.rigs)
        ],
        "isos": list(isos),
        "beyond": len(ISO_TEXTS) - 1,
        "bearings": list(bearings),
        "windows": [[window.key, window.label] for window in plan.windows],
        "drives": drives,
        "closed": [
            [row.name, row.reason] for row in plan.rows if isinstance(row, Closed)
        ],
    }


def _key(plan: TripPlan) -> str:
    """Return a name under which a browser keeps choices made for this plan."""
    request = plan.request
    rigs = [words.rig_name(plan, rig) for rig in range(len(request.rigs))]
    asked = repr((request.place.name, request.first, request.last, rigs))
    return sha256(asked.encode()).hexdigest()[:12]


def _drive(
    plan: TripPlan, drive: DrivePlan, bearings: dict[str, int], isos: dict[str, int]
) -> dict[str, Any]:
    texts = [naming.bearing(float(azimuth)) for azimuth in drive.azimuth_deg]
    for text in texts:
        bearings.setdefault(text, len(bearings))
    keys = [window.key for window in plan.windows]
    back = drive.minute(drive.turn_back_utc)
    return {
        "name": drive.name,
        "session": drive.session,
        "gated": drive.gated,
        "opens": _since_1970(drive.opens_utc),
        # Before the opening there is nothing to turn back from.
        "back": back if drive.can_turn_back else None,
        "travel": plan.request.travel_min,
        "spread": f"±{drive.spread_stops:.1f} stops",
        "moon": words.moon_phrase(plan, drive) if drive.moon else "",
        "windows": [
            [drive.minute(s.start_utc), keys.index(s.window.key)] for s in drive.windows
        ],
        "sun": [*_sun_events(drive), *_best_events(plan, drive)],
        "altitude": _differences(_tenths(drive.apparent_deg)),
        "bearing": _runs(bearings[text] for text in texts),
        "iso": [
            [_runs(_isos(choice, side, isos)) for side in of_rig]
            for of_rig, choice in zip(drive.iso, plan.request.rigs, strict=True)
        ],
        "usable": _usable(plan, drive),
        "within": _within(plan, drive),
        "ladder": [
            [_ladder(drive, outcome, choice) for outcome in of_rig]
            for of_rig, choice in zip(drive.outcomes, plan.request.rigs, strict=True)
        ],
    }


def _isos(
    choice: RigChoice, iso: NDArray[np.float64], isos: dict[str, int]
) -> NDArray[np.int64]:
    """Return the index in ``isos`` of what is set, adding texts below base ISO."""
    index = iso_index(iso)
    for minute in np.flatnonzero(iso < choice.rig.body.base_iso).tolist():
        text = choice.set_text(float(iso[minute]))
        index[minute] = isos.setdefault(text, len(isos))
    return index


def iso_index(iso: NDArray[np.float64]) -> NDArray[np.int64]:
    """Return for each needed ISO the index of its text in `ISO_TEXTS`."""
    # The same hair of tolerance as `exposure.nominal_iso`.
    return np.searchsorted(exposure.ISO_SPEEDS, iso * (1 - 1e-9), side="left")


def _sun_events(drive: DrivePlan) -> list[list[int | str]]:
    found: list[list[int | str]] = []
    events = ((drive.sun.sunrise_utc, "sun up"), (drive.sun.sunset_utc, "sun down"))
    for utc, text in events:
        if utc is not None:
            minute = drive.minute(nearest_minute(utc))
            if 0 < minute < len(drive.utc):
                found.append([minute, text])
    return found


def _best_events(plan: TripPlan, drive: DrivePlan) -> list[list[int | str]]:
    """Return when warm light and the sun on the animal begin and end on the drive."""
    if plan.request.gold != "warm":
        return []
    found: list[list[int | str]] = []
    for runs_of, begins, ends in (
        (drive.warm, "warm light", "warm light over"),
        (drive.sun_on, "sun on animal", "sun off animal"),
    ):
        for run in runs_of:
            if run.first_utc > drive.opens_utc:
                found.append([drive.minute(run.first_utc), begins])
            if run.last_utc < drive.closes_utc:
                found.append([drive.minute(run.last_utc), ends])
    return found


def _usable(plan: TripPlan, drive: DrivePlan) -> list[list[list[list[int]]]]:
    iso = drive.iso[..., : drive.until + 1]
    cases = usable_by_spread(iso, plan.request.rigs, drive.spread_stops)
    return [
        [[_edges(cases[case, rig, side]) for case in range(3)] for side in range(3)]
        for rig in range(len(plan.request.rigs))
    ]


def _within(plan: TripPlan, drive: DrivePlan) -> list[list[list[int]]]:
    """Return when needed ISO is within the ceiling, after turn-back too."""
    expected = usable_by_spread(drive.iso, plan.request.rigs, drive.spread_stops)[0]
    return [[_edges(side) for side in rig] for rig in expected]


def _ladder(
    drive: DrivePlan, outcome: Outcome, choice: RigChoice
) -> list[list[int | str]]:
    return [
        [
            ladder_words.shutter(rung.shutter_s),
            ladder_words.share(rung),
            drive.minute(rung.first_utc),
            drive.minute(rung.last_utc),
        ]
        for rung in ladder_words.slower(drive, outcome, choice)
    ]


def _edges(usable: NDArray[np.bool_]) -> list[int]:
    """Return where usable minutes start and end, one after the other."""
    return [index for run in true_runs(usable) for index in run]


def _tenths(degrees: NDArray[np.float64]) -> NDArray[np.int64]:
    # By way of the text, so that a half rounds as it does on every other page.
    return np.array([int(f"{d:.1f}".replace(".", "")) for d in degrees])


def _differences(values: NDArray[np.int64]) -> list[int]:
    return [int(v) for v in np.diff(values, prepend=0)]


def _runs(indices: Iterable[int]) -> str:
    array = np.fromiter(indices, dtype=np.int64)
    return " ".join(
        f"{_base36(int(array[first]))}.{_base36(end - first)}"
        for first, end in runs(array)
    )


def _base36(number: int) -> str:
    digits = ""
    while True:
        number, rest = divmod(number, 36)
        digits = _DIGITS[rest] + digits
        if not number:
            return digits


def _since_1970(utc: np.datetime64) -> int:
    return int(utc.astype("datetime64[m]").astype(np.int64))


def _offsets(plan: TripPlan) -> list[list[int | str]]:
    """Return when which offset from UTC begins: minute, minutes to add, its text."""
    zone = plan.request.place.timezone
    middle = [day.sun.noon_utc.astype("datetime64[D]") for day in plan.days]
    days = np.arange(middle[0] - _MARGIN, middle[-1] + _MARGIN, _DAY)
    at = localtime.offset_minutes(zone, days)
    begins = [days[0].astype("datetime64[m]")]
    for day in days[:-1][np.diff(at) != 0]:
        minutes = np.arange(day, day + _DAY + _MINUTE, _MINUTE)
        change = np.diff(localtime.offset_minutes(zone, minutes)) != 0
        begins += list(minutes[1:][change])
    return [
        [_since_1970(utc), _floor_offset(zone, utc), localtime.offset_text(zone, utc)]
        for utc in begins
    ]


def _floor_offset(zone: str, utc: np.datetime64) -> int:
    # Clocks drop the seconds that some zones carried until 1972; so does this.
    offset = localtime.aware(zone, utc).utcoffset() or dt.timedelta()
    return int(offset.total_seconds() // 60)
