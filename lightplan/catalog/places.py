"""Places and kit from one TOML file, checked key by key.

Only `load` reads a file, and `wanted` says which. One sentence reports an error: the
file, the place, the key, the value and what would be right.
"""

import os
import re
import tomllib
from collections import Counter
from pathlib import Path
from typing import Annotated, Any, NamedTuple, TypeVar

from pydantic import (
    AfterValidator,
    BeforeValidator,
    Field,
    ValidationError,
    model_validator,
)
from pydantic_core import PydanticCustomError

from lightplan import errors
from lightplan.catalog import covers
from lightplan.catalog.covers import OwnCover
from lightplan.catalog.gates import Closure, Gates
from lightplan.catalog.kit import Body, Converter, Entry, Lens, Line, Name, Number, Rig
from lightplan.light import air, daylight
from lightplan.sky import localtime
from lightplan.sky.windows import Limits, light_windows

OWN_FILE = "locations.toml"
EXAMPLE_FILE = "locations.example.toml"
NAMING = "LIGHTPLAN_FILE"  # the environment variable that names another file
PACKAGE = Path(__file__).resolve().parents[1]


def _zone(name: str) -> str:
    if not localtime.is_zone(name):
        # Deferred, since looking for the nearest of all zones takes a while.
        raise PydanticCustomError(
            errors.DEFERRED, "is no zone name", {"say": localtime.unknown_zone}
        )
    return name


def _sky(name: str) -> str:
    return daylight.sky_named(name).key


Latitude = Annotated[Number, Field(ge=-90, le=90)]
Longitude = Annotated[Number, Field(ge=-180, le=180)]
Zone = Annotated[Line, AfterValidator(_zone)]
SkyName = Annotated[Line, AfterValidator(_sky)]
CoverName = Line  # a preset or one of the file's own: the catalog knows which
Bearing = Annotated[Number, Field(ge=0, le=360)]
HorizonAltitude = Annotated[Number, Field(ge=-10, le=80)]
Depth = Annotated[Number, Field(ge=air.AOD_RANGE[0], le=air.AOD_RANGE[1])]
# Far more than anybody lists, and too few to keep a server busy.
MOST, MOST_OF_A_PLACE, MOST_COVERS, MOST_POINTS = 1000, 200, 200, 1000


def _at_most(most: int) -> BeforeValidator:
    """Refuse a list that is too long before checking each of its entries."""

    def check(entries: Any) -> Any:
        if isinstance(entries, list | tuple) and len(entries) > most:
            raise PydanticCustomError(
                "too_long",
                "",
                {"max_length": most, "actual_length": len(entries)},
            )
        return entries

    return BeforeValidator(check)


SOME = Field(min_length=1)

# A key of this many parts keeps the TOML parser busy for minutes; ours have two.
_LONG_KEY = re.compile(
    r"""(?<![\w"'-])(?:(?:"(?:[^"\\\n]|\\.)*+"|'[^'\n]*+'|[\w-]++)[ \t]*+\.[ \t]*+){20}"""
)


def _one_altitude_each(
    points: tuple[tuple[float, float], ...],
) -> tuple[tuple[float, float], ...]:
    altitudes: dict[float, float] = {}
    for bearing, altitude in points:
        known = altitudes.setdefault(bearing % 360, altitude)  # 360° is 0°
        if known != altitude:
            raise ValueError(
                f"horizon must have one altitude at each bearing, got {known:g}° and "
                f"{altitude:g}° at {bearing % 360:g}°"
            )
    return points


def _check_names_differ(kind: str, entries: tuple[Any, ...]) -> None:
    count = Counter(entry.name for entry in entries)
    if twice := next((name for name in count if count[name] > 1), None):
        raise ValueError(f"{kind} must have different names, got {twice!r} twice")


class Spot(Entry):
    """A place to wait at: which way the camera looks, and the skyline around it.

    ``horizon`` lists [bearing, altitude] of the skyline in degrees, in any order.
    """

    name: Name
    bearing_deg: Bearing
    cover: CoverName = "open"
    horizon: Annotated[
        tuple[tuple[Bearing, HorizonAltitude], ...],
        _at_most(MOST_POINTS),
        AfterValidator(_one_altitude_each),
    ] = ()


def _twelve(depths: tuple[float, ...]) -> tuple[float, ...]:
    if len(depths) not in (0, 12):
        raise ValueError(
            f"air must have 12 optical depths, January to December, got {len(depths)}"
        )
    return depths


class Place(Entry):
    """A reserve: where it is, when its gates open, its usual sky, air and cover.

    ``air`` has the aerosol's optical depth at 500 nm in each month, or nothing.
    """

    name: Name
    latitude_deg: Latitude
    longitude_deg: Longitude
    timezone: Zone
    elevation_m: Annotated[Number, Field(ge=-430, le=6000)] = 0.0
    sky: SkyName = "clear"
    cover: CoverName = "open"
    air: Annotated[
        tuple[Depth, ...], _at_most(MOST_OF_A_PLACE), AfterValidator(_twelve)
    ] = ()
    gates: Annotated[tuple[Gates, ...], _at_most(MOST_OF_A_PLACE)] = ()
    closures: Annotated[tuple[Closure, ...], _at_most(MOST_OF_A_PLACE)] = ()
    spots: Annotated[tuple[Spot, ...], _at_most(MOST_OF_A_PLACE)] = ()

    @model_validator(mode="after")
    def _spots_differ(self) -> "Place":
        _check_names_differ("spots", self.spots)
        return self


class LightLimits(Entry):
    """Sun altitudes [°] that bound golden and hard light."""

    golden_low_deg: Number = -4.0
    golden_high_deg: Number = 6.0
    hard_deg: Number = 30.0

    @model_validator(mode="after")
    def _in_order(self) -> "LightLimits":
        light_windows(self.limits)
        return self

    @property
    def limits(self) -> Limits:
        """The limits as `windows` wants them."""
        return Limits(self.golden_low_deg, self.golden_high_deg, self.hard_deg)


_E = TypeVar("_E", Place, Body, Lens, Converter, "RigNames")


class RigNames(Entry):
    """A rig as written in the file: by the names of its parts."""

    name: Name
    body: Line
    lens: Line
    converter: Annotated[Line | None, AfterValidator(lambda name: name or None)] = None


class Catalog(Entry):
    """Everything the file holds."""

    places: Annotated[tuple[Place, ...], SOME, _at_most(MOST)]
    covers: Annotated[tuple[OwnCover, ...], _at_most(MOST_COVERS)] = ()
    bodies: Annotated[tuple[Body, ...], SOME, _at_most(MOST)]
    lenses: Annotated[tuple[Lens, ...], SOME, _at_most(MOST)]
    converters: Annotated[tuple[Converter, ...], _at_most(MOST)] = ()
    rigs: Annotated[tuple[RigNames, ...], SOME, _at_most(MOST)]
    light: LightLimits = LightLimits()

    @model_validator(mode="after")
    def _names_fit(self) -> "Catalog":
        for kind in ("places", "covers", "bodies", "lenses", "converters", "rigs"):
            _check_names_differ(kind, getattr(self, kind))
        covers.check_names(self.covers)
        known = {*daylight.COVERS, *(cover.name for cover in self.covers)}
        for place in self.places:
            if not known.issuperset((place.cover, *(s.cover for s in place.spots))):
                self._covers_fit(place)
        bodies = {body.name for body in self.bodies}
        lenses = {lens.name for lens in self.lenses}
        converters = {None, *(converter.name for converter in self.converters)}
        for rig in self.rigs:
            parts_known = rig.body in bodies and rig.lens in lenses
            if not (parts_known and rig.converter in converters):
                self.rig(rig.name)  # says which part, and what was likely meant
        return self

    def _covers_fit(self, place: Place) -> None:
        spots = [(f": spot {spot.name!r}", spot.cover) for spot in place.spots]
        for where, name in (("", place.cover), *spots):
            try:
                self.cover(name)
            except ValueError as error:
                raise ValueError(f"place {place.name!r}{where}: {error}") from None

    def place(self, name: str) -> Place:
        """Return the place of that name; ValueError proposes the nearest."""
        return self._find(self.places, "place", name)

    def cover(self, name: str) -> str | daylight.Cover:
        """Return the cover of that name, as `covers.named`; ValueError likewise."""
        return covers.named(name, self.covers)

    def rig(self, name: str) -> Rig:
        """Return the rig of that name with its parts; ValueError likewise."""
        names = self._find(self.rigs, "rig", name)
        return Rig(
            name=names.name,
            body=self._find(self.bodies, f"body of rig {name!r}", names.body),
            lens=self._find(self.lenses, f"lens of rig {name!r}", names.lens),
            converter=self._find(
                self.converters, f"converter of rig {name!r}", names.converter
            )
            if names.converter is not None
            else None,
        )

    @staticmethod
    def _find(entries: tuple[_E, ...], what: str, name: str) -> _E:
        for entry in entries:
            if entry.name == name:
                return entry
        known = [entry.name for entry in entries]
        raise ValueError(errors.unknown(what, name, known))


class PlacesError(ValueError):
    """A file that cannot be used; the message is one sentence for its owner."""


class Loaded(NamedTuple):
    """A catalog, the file it came from, and what was wrong with another."""

    catalog: Catalog
    path: Path
    problem: str = ""


_TABLES: dict[str, type[Entry]] = {
    "": Catalog,
    "places": Place,
    "gates": Gates,
    "closures": Closure,
    "spots": Spot,
    "covers": OwnCover,
    "bodies": Body,
    "lenses": Lens,
    "converters": Converter,
    "rigs": RigNames,
    "light": LightLimits,
}
KEYS = {
    table: tuple(field.alias or name for name, field in model.model_fields.items())
    for table, model in _TABLES.items()
}


def read(text: str, name: str) -> Catalog:
    """Read and check a TOML document.

    Parameters
    ----------
    text : str
        The document.
    name : str
        What to call it in a message.

    Raises
    ------
    PlacesError
        If it is empty, is not TOML, or holds a wrong key or value.
    """
    if not text.strip():
        raise PlacesError(f"{name} is empty: it needs places, bodies, lenses and rigs")
    if _LONG_KEY.search(text):
        raise PlacesError(f"{name} is not valid TOML: nested too deeply")
    try:
        data: dict[str, Any] = tomllib.loads(text)
    except RecursionError:
        raise PlacesError(f"{name} is not valid TOML: nested too deeply") from None
    except ValueError as error:  # TOMLDecodeError, or a number of too many digits
        raise PlacesError(f"{name} is not valid TOML: {error}") from None
    try:
        return checked(data)
    except PlacesError as error:
        raise PlacesError(f"{name}: {error}") from None


def checked(data: dict[str, Any]) -> Catalog:
    """Return the catalog that a document's tables make.

    Parameters
    ----------
    data : dict
        What TOML reads: tables under the names of `KEYS`.

    Raises
    ------
    PlacesError
        With one sentence on the first key or value that is wrong.
    """
    try:
        return Catalog.model_validate(data)
    except ValidationError as error:
        raise PlacesError(errors.sentence(error, data, KEYS)) from None


def load(path: Path) -> Catalog:
    """Read and check a TOML file.

    Raises
    ------
    PlacesError
        If it cannot be read, or as for `read`.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise PlacesError(f"{path.name} is not UTF-8 text") from None
    except OSError as error:
        reason = error.strerror or "it cannot be opened"
        raise PlacesError(f"{path} cannot be read: {reason}") from None
    return read(text, path.name)


def wanted(named: str | None = None) -> Path:
    """Return the file to read: the one named, else the user's own, else the example.

    The user's own is beside ``app.py`` in a checkout; for an installed lightplan it
    is in the current folder.

    Parameters
    ----------
    named : str, optional
        A path; else the one that ``LIGHTPLAN_FILE`` holds.
    """
    if named := named or os.environ.get(NAMING):
        return Path(named)
    own = PACKAGE.parent / OWN_FILE if _beside().is_file() else Path(OWN_FILE)
    # Unlike Path.exists, this does not fail in a folder without permission.
    return own if os.path.exists(own) else example()


def example() -> Path:
    """Return where the example is: at the top of a checkout, or in the package.

    A wheel puts it into the package. An editable install may leave an old copy there
    too, so a checkout's own file is preferred.
    """
    beside = _beside()
    return beside if beside.is_file() else PACKAGE / EXAMPLE_FILE


def _beside() -> Path:
    return PACKAGE.parent / EXAMPLE_FILE


def find(named: str | None = None) -> Loaded:
    """Load the file that is `wanted`, or the example if that one is wrong.

    Parameters
    ----------
    named : str, optional
        As `wanted` takes it.

    Returns
    -------
    Loaded
        If the wanted file is wrong: the example, with the reason in ``problem``.

    Raises
    ------
    PlacesError
        If the example itself cannot be used.
    """
    path, built_in = wanted(named), example()
    if path == built_in:
        return Loaded(load(path), path)
    try:
        return Loaded(load(path), path)
    except PlacesError as error:
        # Anyone who opens the page sees this, so it names no folders.
        problem = str(error).replace(str(path), path.name)
        return Loaded(load(built_in), built_in, problem)
