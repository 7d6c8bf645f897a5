"""The user's frames: what is in a folder, and when each was taken.

Files are opened for reading only and never changed; links are not followed.
Every file becomes either a frame or a dropped file with a reason, so that the counts
add up.
"""

import datetime as dt
import io
import os
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

import numpy as np

from lightplan.arrays import Instants
from lightplan.errors import one_line
from lightplan.frames import headers
from lightplan.frames.headers import Exposure, Unusable
from lightplan.sky import localtime

# JPEG, TIFF, HEIF, raw files built on TIFF, and the two of `containers`.
ENDINGS = frozenset(
    (
        ".jpg", ".jpeg", ".jpe", ".tif", ".tiff", ".heic", ".heif", ".hif", ".dng",
        ".nef", ".nrw", ".cr2", ".arw", ".sr2", ".srf", ".orf", ".rw2", ".raw", ".pef",
        ".srw", ".cr3", ".raf", ".3fr", ".fff", ".iiq", ".rwl", ".erf", ".mef", ".mos", ".kdc", ".dcr",
    )
)  # fmt: skip
LONGEST_FILE_BYTES = 4_000_000_000  # no still frame is that large

NOT_IMAGE = "not a supported kind of image file"
LINK = "a symbolic link, which is not followed"
EMPTY = "an empty file"
TOO_LONG = "longer than 4 GB"
CLOSED = "cannot be opened"
CLOSED_FOLDER = "a folder that cannot be opened"
NO_ZONE = "no UTC offset, no GPS time, and no zone given for the camera's clock"
FUTURE = "taken in the future"


class Frame(NamedTuple):
    """A frame with its exposure; ``name`` is its path below the folder read.

    ``group`` is the table's group column; empty for image files.
    """

    name: str
    exposure: Exposure
    group: str = ""


class Dropped(NamedTuple):
    """A file or row that is not used, and why."""

    name: str
    reason: str


class Reading(NamedTuple):
    """All files read: the frames, and what was dropped."""

    frames: tuple[Frame, ...]
    dropped: tuple[Dropped, ...]


class Timed(NamedTuple):
    """Frames with the instants at which they were taken, shape (n,), in order."""

    frames: tuple[Frame, ...]
    utc: Instants
    dropped: tuple[Dropped, ...]


class Clock(NamedTuple):
    """How to read the camera's clock.

    ``zone`` is the IANA zone it was set to, for frames that do not record it;
    ``correction_s`` is added to its time; ``now`` is an aware moment that
    no frame can be later than.
    """

    now: dt.datetime
    zone: str | None = None
    correction_s: float = 0.0


Progress = Callable[[Sequence[Path]], Iterable[Path]]


def read_folder(root: Path, progress: Progress = iter) -> Reading:
    """Read every frame below a folder.

    Parameters
    ----------
    root : Path
        The folder; a link is followed here, and nowhere below.
    progress : callable, optional
        Given the paths, yields them one by one; for a progress bar.

    Returns
    -------
    Reading
        In order of name; each file found is in it once.

    Raises
    ------
    ValueError
        If there is no such folder, or it cannot be opened.
    """
    if not root.is_dir():
        what = "is not a folder" if root.exists() else "does not exist"
        raise ValueError(f"{root} {what}: name a folder with frames, or a CSV file")
    paths: list[Path] = []
    dropped: list[Dropped] = []
    for path, reason in _walk(root):
        if reason:
            dropped.append(Dropped(_below(path, root), reason))
        else:
            paths.append(path)
    frames: list[Frame] = []
    for path in progress(paths):
        result = _read_path(path, _below(path, root))
        (frames if isinstance(result, Frame) else dropped).append(result)  # type: ignore[arg-type]
    return Reading(tuple(frames), tuple(dropped))


def read_bytes(data: bytes, name: str) -> Frame | Dropped:
    """Read one frame given as bytes, as a page gives it."""
    name = one_line(name)
    if Path(name).suffix.lower() not in ENDINGS:
        return Dropped(name, NOT_IMAGE)
    if not data:
        return Dropped(name, EMPTY)
    try:
        return Frame(name, headers.read(io.BytesIO(data)))
    except Unusable as reason:
        return Dropped(name, str(reason))


def timed(frames: Iterable[Frame], clock: Clock) -> Timed:
    """Work out when each frame was taken.

    Parameters
    ----------
    frames : iterable of Frame
        As read.
    clock : Clock
        How to read the camera's clock. GPS time is preferred to the offset that a
        frame states, and that to ``zone``; GPS time is not corrected.

    Returns
    -------
    Timed
        In order of time, those without an instant or from the future dropped.

    Raises
    ------
    ValueError
        If the zone is unknown.
    """
    check(clock)
    # A day later, in case the clock was set to the wrong zone.
    latest = clock.now.astimezone(dt.UTC).replace(tzinfo=None) + dt.timedelta(days=1)
    frames = tuple(frames)
    kept: list[tuple[dt.datetime, Frame]] = []
    dropped: list[Dropped] = []
    for frame, utc in zip(frames, _utc(frames, clock).tolist(), strict=True):
        if utc is None:
            dropped.append(Dropped(frame.name, NO_ZONE))
        elif utc > latest:
            dropped.append(Dropped(frame.name, FUTURE))
        else:
            kept.append((utc, frame))
    kept.sort(key=lambda pair: (pair[0], pair[1].name))
    utc_all = np.array([utc for utc, _ in kept], dtype="datetime64[s]")
    return Timed(tuple(frame for _, frame in kept), utc_all, tuple(dropped))


def check(clock: Clock) -> None:
    """Raise ValueError if the clock's zone is unknown."""
    if clock.zone is not None:
        localtime.zone(clock.zone)


def account(dropped: Iterable[Dropped]) -> tuple[tuple[str, int, str], ...]:
    """Return (reason, how many, one name) of what was dropped, most first."""
    count: Counter[str] = Counter()
    example: dict[str, str] = {}
    for name, reason in dropped:
        count[reason] += 1
        example.setdefault(reason, name)
    return tuple((reason, n, example[reason]) for reason, n in count.most_common())


def _utc(frames: Sequence[Frame], clock: Clock) -> Instants:
    """Return when each frame was taken, NaT if unknown. Shape (n,)."""
    # All frames at once: asking the zone for each of thousands is slow.
    every = [frame.exposure for frame in frames]
    walls = np.array([e.wall for e in every], "datetime64[s]")
    walls = walls + np.timedelta64(round(clock.correction_s), "s")
    utc = walls - np.array([e.offset_min for e in every], "timedelta64[m]")
    unknown = np.isnat(utc)
    if clock.zone is not None and unknown.any():
        utc[unknown] = localtime.to_utc(clock.zone, walls[unknown])
    gps = np.array([e.gps_utc for e in every], "datetime64[s]")
    return np.where(np.isnat(gps), utc, gps)


def _walk(root: Path) -> Iterator[tuple[Path, str]]:
    """Yield files, each with the reason not to open it, "" for none."""
    waiting = [root]
    while waiting:
        folder = waiting.pop()
        try:
            with os.scandir(folder) as listing:
                entries = sorted(listing, key=lambda entry: entry.name)
        except OSError as error:
            if folder == root:
                reason = error.strerror or "it cannot be opened"
                raise ValueError(f"{root} cannot be read: {reason}") from None
            yield folder, CLOSED_FOLDER
            continue
        for entry in entries:
            if entry.is_dir(follow_symlinks=False):
                waiting.append(Path(entry.path))
            else:
                yield Path(entry.path), _refusal(entry)


def _refusal(entry: os.DirEntry[str]) -> str:
    if entry.is_symlink():
        return LINK
    # Reading a pipe or a device might never end.
    regular = entry.is_file(follow_symlinks=False)
    if not regular or Path(entry.name).suffix.lower() not in ENDINGS:
        return NOT_IMAGE
    try:
        size = entry.stat(follow_symlinks=False).st_size
    except OSError:
        return CLOSED
    if size > LONGEST_FILE_BYTES:
        return TOO_LONG
    return "" if size else EMPTY


def _read_path(path: Path, name: str) -> Frame | Dropped:
    try:
        with path.open("rb") as file:
            return Frame(name, headers.read(file))
    except Unusable as reason:
        return Dropped(name, str(reason))
    except OSError:
        return Dropped(name, CLOSED)


def _below(path: Path, root: Path) -> str:
    return one_line(path.relative_to(root).as_posix())
