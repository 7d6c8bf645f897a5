"""From frames to covers: form groups, fit them, compare them with the presets.

`calibrate` does the arithmetic, `read` opens the files; this combines them for one
place, the same for the command line and for a page.
"""

import datetime as dt
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lightplan.arrays import FloatArray
from lightplan.catalog.covers import OwnCover
from lightplan.catalog.places import Place
from lightplan.errors import shown
from lightplan.frames import calibrate, zonecheck
from lightplan.frames.calibrate import Fit, Group, Sample
from lightplan.frames.read import Frame, Timed
from lightplan.frames.zonecheck import Misfit
from lightplan.light import daylight
from lightplan.light.daylight import Cover
from lightplan.sky import localtime
from lightplan.trip import plan
from lightplan.trip.request import FACING_INDEX, FACINGS, Request, RigChoice

ALL = "my cover"
_LONGEST_NAME = 70  # characters; the file takes 80
_MOST_NAMED = 5  # groups in a sentence


def _folders(name: str) -> list[str]:
    # As `PurePosixPath` reads it, which takes long for thousands of frames.
    return [part for part in name.split("/")[:-1] if part not in ("", ".")]


def _top_folder(name: str, date: str) -> str:
    return next(iter(_folders(name)), ALL)


def _last_folder(name: str, date: str) -> str:
    return next(reversed(_folders(name)), ALL)


def _date(name: str, date: str) -> str:
    return date


def _one(name: str, date: str) -> str:
    return ALL


# How frames are put into groups, by name and date.
GROUPINGS: dict[str, Callable[[str, str], str]] = {
    "folder": _top_folder,
    "subfolder": _last_folder,
    "date": _date,
    "all": _one,
}

# Groupings by folder: a row of a table has no folder, but may name a group instead.
BY_FOLDER = ("folder", "subfolder")


class Stretch(NamedTuple):
    """A stretch of local time whose frames make a group of that name."""

    name: str
    first: np.datetime64
    last: np.datetime64


class Metering(NamedTuple):
    """How a photographer exposes.

    ``habit_stops`` is negative for somebody who makes every frame darker than the
    meter wants without setting compensation. With ``as_exposed`` the compensation
    counts as set for pale and dark animals, so that the exposure itself shows the
    light.
    """

    habit_stops: float = 0.0
    as_exposed: bool = False


class Learned(NamedTuple):
    """What a place's frames say: a fit for each group, and whether the clock is off.

    ``dates`` holds the last local date of each group's frames, ``reference`` the
    fit on open ground that the others are counted from, ``taken`` the stops of
    every frame as from `calibrate.stops_taken`, in the order of the frames.
    """

    fits: tuple[Fit, ...]
    dates: Mapping[str, dt.date]
    misfit: Misfit | None
    reference: Fit | None
    taken: FloatArray


class End(NamedTuple):
    """When a rig runs out of light in the evening.

    ``utc`` is None if it is never usable; ``dusk`` is true if it lasts to the
    end of civil twilight.
    """

    utc: np.datetime64 | None
    dusk: bool


def metered(frames: Iterable[Frame], how: Metering) -> FloatArray:
    """Return the metered EV₁₀₀ of frames, shape (n,). [stops]."""
    table = np.array(
        [
            (
                frame.exposure.f_number,
                frame.exposure.shutter_s,
                frame.exposure.iso,
                0.0 if how.as_exposed else frame.exposure.compensation_stops,
            )
            for frame in frames
        ],
        dtype=np.float64,
    ).reshape(-1, 4)
    ev100 = calibrate.metered_ev100(*table.T)
    return np.asarray(ev100 + how.habit_stops)


def grouped(
    timed: Timed, place: Place, by: str, stretches: Iterable[Stretch] = ()
) -> tuple[str, ...]:
    """Return the name of each frame's group.

    A stretch of time wins, then ``by``, a key of `GROUPINGS`; a table's group column
    takes the place of folders.
    """
    walls = localtime.to_wall(place.timezone, timed.utc)
    days = np.datetime_as_string(walls, unit="D").tolist()
    of_frame, in_table = GROUPINGS[by], by in BY_FOLDER
    names = [
        (in_table and frame.group) or of_frame(frame.name, day)
        for frame, day in zip(timed.frames, days, strict=True)
    ]
    stretches = tuple(stretches)
    of = np.full(len(names), -1)  # the last stretch that a frame is in
    for number, stretch in enumerate(stretches):
        of[(walls >= stretch.first) & (walls <= stretch.last)] = number
    for i in np.flatnonzero(of >= 0):
        names[i] = stretches[of[i]].name
    return tuple(names)


def members(names: tuple[str, ...]) -> dict[str, NDArray[np.intp]]:
    """Return the indices of each group's frames, by name, names in order."""
    indices: dict[str, list[int]] = {}
    for i, name in enumerate(names):
        indices.setdefault(name, []).append(i)
    return {name: np.array(indices[name], np.intp) for name in sorted(indices)}


def learn(
    timed: Timed,
    names: tuple[str, ...],
    place: Place,
    group_of: Mapping[str, Group],
    usual: Group,
    how: Metering,
    reference: str | None = None,
) -> Learned:
    """Fit every group of frames.

    Parameters
    ----------
    timed : Timed
        Frames in order of time.
    names : tuple of str
        The group of each, as from `grouped`.
    place : Place
        Where they were taken.
    group_of : mapping of str to Group
        Settings of some groups; the others have those of ``usual``.
    usual : Group
        Its name does not matter.
    how : Metering
        How the photographer exposes.
    reference : str, optional
        The group on open ground that the others are counted from.

    Raises
    ------
    ValueError
        If a group with settings, or the reference, has no frame.
    """
    wanted = [*group_of, *([reference] if reference is not None else [])]
    for name in wanted:
        if name not in names:
            first = sorted(set(names))[:_MOST_NAMED]
            known = ", ".join(group[:_LONGEST_NAME] for group in first) or "none"
            raise ValueError(
                f"group {shown(name)} has no usable frame (groups: {known})"
            )
    ev100 = metered(timed.frames, how)
    of = members(names)
    samples = [
        Sample(
            group_of.get(name, replace(usual, name=name)), timed.utc[mine], ev100[mine]
        )
        for name, mine in of.items()
    ]
    at = (place.latitude_deg, place.longitude_deg)
    taken = np.full(len(names), np.nan)
    fits = {}
    each = calibrate.each_taken(samples, *at)
    for sample, mine, stops in zip(samples, of.values(), each, strict=True):
        taken[mine] = stops
        fits[sample.group.name] = calibrate.fit_taken(sample.utc, stops, sample.group)
    open_ground = fits.pop(reference) if reference is not None else None
    if open_ground is not None:
        if open_ground.too_few or open_ground.too_wide:
            raise ValueError(
                f"group {shown(reference)} cannot be the reference: {open_ground.bursts} "
                f"bursts (at least {calibrate.FEWEST_BURSTS}) that differ by "
                f"±{open_ground.spread_stops:.1f} stops (at most "
                f"±{calibrate.WIDEST_STOPS:g})"
            )
        fits = {n: calibrate.less(fit, open_ground) for n, fit in fits.items()}
    dates = {
        s.group.name: localtime.aware(place.timezone, s.utc[-1]).date() for s in samples
    }
    misfit = zonecheck.misfit(samples, *at)
    return Learned(tuple(fits.values()), dates, misfit, open_ground, taken)


def own_cover(fit: Fit) -> OwnCover:
    """Return a fit as an entry of the file; ValueError if it is not usable."""
    if not fit.usable:
        raise ValueError(
            f"group {shown(fit.group.name)} is not good enough for a cover"
        )
    name = fit.group.name[:_LONGEST_NAME]
    return OwnCover(
        name=f"own {name}" if name in daylight.COVERS else name,
        stops=round(fit.stops, 2),
        spread_stops=round(fit.sure_to_stops, 2),
        base=daylight.cover_named(fit.group.base).key,
        bursts=fit.bursts,
        frames=fit.frames,
    )


def usual_preset(fit: Fit, place: Place) -> Cover:
    """Return the preset a plan would have used: one that is not open ground."""
    for cover in (daylight.cover_named(fit.group.base).key, place.cover):
        if cover != "open" and cover in daylight.COVERS:
            return daylight.cover_named(cover)
    return daylight.cover_named("woodland")


def side_of(group: Group) -> str:
    """Return the side a group is lit from; "side" for a group with a bearing."""
    if group.bearing_deg is not None:
        return "side"
    return next(f.key for f in FACINGS if f.angle_deg == group.facing_deg)


@lru_cache(maxsize=64)  # groups of one day ask for the same
def evening_end(
    place: Place,
    date: dt.date,
    rig: RigChoice,
    facing: str,
    sky: str,
    cover: str | Cover,
) -> End:
    """Return when a rig runs out of light in the evening, by its plan.

    Gates are ignored, so that they do not cut the evening short. Names and errors are
    those of `Request`.
    """
    free = place.model_copy(update={"gates": (), "closures": ()})
    trip = plan.make(
        Request(free, date, date, (rig,), facing=facing, sky=sky, cover=cover)
    )
    for drive in trip.drives:
        last = drive.outcomes[0][FACING_INDEX[facing]].last
        if drive.session == "evening" and last is not None:
            return End(last.utc, last.utc == drive.closes_utc)
    return End(None, False)
