"""What a person chose, read from a form or a link, as a plan's `Request`.

Form and link carry the same texts under the same names (`Raw`). `read` turns
them into a `Request` and refuses the first wrong value with a sentence;
`mended` replaces each wrong value by its default and says so.
"""

import datetime as dt
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache, wraps
from typing import ParamSpec, TypeVar
from urllib.parse import parse_qsl, unquote, urlencode

from lightplan import compare, daylight, drives, localtime, plan, route, season, spots
from lightplan.complaint import did_you_mean
from lightplan.kit import BLUR_PX, DISTANCE_M, PACES
from lightplan.places import Catalog, Place, Spot
from lightplan.plan import FACING_INDEX, LETTERS, MAX_RIGS, Request, RigChoice, TripPlan
from lightplan.season import Season
from lightplan.spot_chances import WISHES, Wish
from lightplan.spots import SpotYear
from lightplan.web import ids, loop_fields, stop_fields, typed

OWN = "own coordinates"  # the choice that is not a place of the file


LONGEST_LINK = 8000  # characters that are read of one
LONGEST_LIST = 8000  # characters of marks and skies: 62 days of three drives

_P = ParamSpec("_P")
_T = TypeVar("_T")

# A rig as typed: name, focal length, aperture, shutter, ISO ceiling.
RigTexts = tuple[str, str, str, str, str]


@dataclass(frozen=True, slots=True)
class Raw:
    """Texts as typed: one per field, five per rig, and the selected drive."""

    fields: tuple[tuple[str, str], ...]
    rigs: tuple[RigTexts, ...]
    drive: str = ""

    def __getitem__(self, field: str) -> str:
        """Return the text of a field, empty if it is not there."""
        return dict(self.fields).get(field, "")

    def without_drive(self) -> "Raw":
        """Return the same with no drive selected."""
        return Raw(self.fields, self.rigs)

    def replaced(self, changes: Mapping[str, str]) -> "Raw":
        """Return the same with some fields changed and no drive selected."""
        return Raw(tuple({**dict(self.fields), **changes}.items()), self.rigs)

    def search(self) -> str:
        """Return the query string that `from_search` reads back."""
        # A place of the file brings its own position and zone.
        implied = () if self[ids.PLACE] == OWN else ids.OWN_FIELDS
        pairs = [
            (name, text)
            for name, text in self.fields
            if text != "" and name not in implied
        ]
        pairs += [("rig", _joined(rig)) for rig in self.rigs]
        if self.drive:
            pairs.append((ids.SELECTED, self.drive))
        return "?" + urlencode(pairs)


def from_search(search: str) -> Raw:
    """Read a query string; unknown names are left out, nothing is checked."""
    pairs = parse_qsl(search.removeprefix("?")[:LONGEST_LINK])
    found = dict(pairs)
    rigs = [_parted(text) for name, text in pairs if name == "rig"]
    fields = tuple(
        (name, typed.cut(found[name], _longest(name)))
        for name in ids.FIELDS
        if name in found
    )
    return Raw(fields, tuple(rigs), typed.cut(found.get(ids.SELECTED, "")))


def _longest(name: str) -> int:
    if name == ids.LEGS:
        return route.LONGEST_TEXT + 1  # so that a longer text is told, not cut
    return LONGEST_LIST if name in ids.LISTS else typed.LONGEST


def _joined(rig: RigTexts) -> str:
    """Write a rig's texts as one: the name, then its settings, between tildes."""
    name, *settings = rig
    escaped = name.replace("%", "%25").replace("~", "%7E")
    return "~".join([escaped, *settings]).rstrip("~")


def _parted(text: str) -> RigTexts:
    """Read back what `_joined` wrote."""
    name, focal, aperture, shutter, iso, *_ = (*text.split("~"), *[""] * 5)
    return _texts(
        [typed.cut(t) for t in (unquote(name), focal, aperture, shutter, iso)]
    )


def from_form(form: Mapping[str, object], drive: str = "") -> Raw:
    """Take the values of the page's controls, keyed by their ids, as texts."""
    fields = tuple(
        (name, typed.text(form.get(name), _longest(name))) for name in ids.FIELDS
    )
    rigs = []
    for slot in range(MAX_RIGS):
        name, *rest = (
            typed.text(form.get(ids.slot_field(field, slot)))
            for field in ids.RIG_FIELDS
        )
        if name:
            focal, aperture, shutter, iso = rest
            rigs.append((name, focal, aperture, shutter, iso))
    return Raw(fields, tuple(rigs), drive)


def defaults(catalog: Catalog, now: dt.datetime, place: str = "") -> Raw:
    """Return the coming week at a place (the first, if the name is not known)."""
    at = next((p for p in catalog.places if p.name == place), catalog.places[0])
    tomorrow = localtime.date_at(at.timezone, now) + dt.timedelta(days=1)
    last_day = dt.date(localtime.LAST_YEAR, 12, 31)
    first = min(tomorrow, last_day - dt.timedelta(days=plan.USUAL_DAYS - 1))
    values = {
        ids.PLACE: OWN if place == OWN else at.name,
        ids.FIRST: first.isoformat(),
        ids.LAST: (first + dt.timedelta(days=plan.USUAL_DAYS - 1)).isoformat(),
        ids.PACE: "walking",
        ids.FACING: "side",
        ids.SKY: at.sky,
        ids.COVER: at.cover,
        ids.TRAVEL: str(plan.USUAL_TRAVEL_MIN),
        ids.DISTANCE: f"{DISTANCE_M:g}",
        ids.BLUR: f"{BLUR_PX:g}",
        ids.LATITUDE: f"{at.latitude_deg:g}",
        ids.LONGITUDE: f"{at.longitude_deg:g}",
        ids.ZONE: at.timezone,
        ids.YEAR: str(first.year),
        ids.SHOWN: LETTERS[0],
        ids.ORDER: compare.WANTS[0].key,
        ids.MARKS: "",
        ids.SKIES: "",
        ids.SPOT: "",
        ids.WISH: Wish().key,
        ids.BEHIND: f"{Wish().within_deg:g}",
        ids.HEIGHT: f"{Wish().up_to_deg:g}",
        ids.AIM: "",
        ids.DECLINATION: "",
        ids.SKYLINE: "",
        ids.AT: "",
        ids.START: "",
        ids.SPEED: f"{loop_fields.USUAL_SPEED_KMH:g}",
        ids.LIGHT: loop_fields.USUAL_LIGHT,
        ids.LEGS: "",
    }
    rigs = tuple((r.name, "", "", "", "") for r in catalog.rigs[: plan.USUAL_RIGS])
    return Raw(tuple((name, values[name]) for name in ids.FIELDS), rigs)


def read(raw: Raw, catalog: Catalog) -> Request:
    """Return the request that the texts make.

    Raises
    ------
    ValueError
        With one sentence on the first value that is wrong.
    """
    first, last = _dates(raw)
    return Request(
        place=_place(raw, catalog),
        first=first,
        last=last,
        rigs=_rigs(raw, catalog),
        pace=typed.one_of(raw[ids.PACE], PACES, "pace"),
        facing=typed.one_of(raw[ids.FACING], FACING_INDEX, "side"),
        sky=daylight.sky_named(raw[ids.SKY]).key,
        cover=catalog.cover(raw[ids.COVER]),
        travel_min=_travel(raw),
        limits=catalog.light.limits,
        skies=_skies(raw),
    )


def mended(raw: Raw, catalog: Catalog, now: dt.datetime) -> tuple[Raw, tuple[str, ...]]:
    """Fill what is missing and replace what is wrong, value by value.

    Returns
    -------
    tuple
        Texts that `read` accepts, and a sentence for each one replaced.
    """
    base = defaults(catalog, now, raw[ids.PLACE])
    fields = {**dict(base.fields), **dict(raw.fields)}
    said: list[str] = []

    def attempt(names: tuple[str, ...], check: Callable[[Raw], object]) -> None:
        trial = Raw(tuple(fields.items()), raw.rigs)
        try:
            check(trial)
        except ValueError as error:
            said.append(str(error))
            fields.update({name: base[name] for name in names})

    attempt((ids.PLACE,), lambda r: _place(r, catalog) if r[ids.PLACE] != OWN else None)
    if fields[ids.PLACE] == OWN:
        attempt((ids.LATITUDE,), _latitude)
        attempt((ids.LONGITUDE,), _longitude)
        attempt((ids.ZONE,), lambda r: localtime.zone(r[ids.ZONE]))
    else:
        fields.update({name: base[name] for name in ids.OWN_FIELDS})
    attempt((ids.FIRST, ids.LAST), _dates)
    attempt((ids.PACE,), lambda r: typed.one_of(r[ids.PACE], PACES, "pace"))
    attempt((ids.FACING,), lambda r: typed.one_of(r[ids.FACING], FACING_INDEX, "side"))
    attempt((ids.SKY,), lambda r: daylight.sky_named(r[ids.SKY]))
    attempt((ids.COVER,), lambda r: catalog.cover(r[ids.COVER]))
    attempt((ids.TRAVEL,), _travel)
    attempt((ids.DISTANCE,), distance_m)
    attempt((ids.BLUR,), _blur)
    attempt((ids.YEAR,), year_of)
    attempt((ids.SHOWN,), shown_of)
    attempt((ids.ORDER,), order_of)
    attempt((ids.SKIES,), _skies)
    attempt((ids.SPOT,), lambda r: spot_of(r, catalog))
    attempt((ids.WISH,), _wish_key)
    attempt((ids.BEHIND,), _behind)
    attempt((ids.HEIGHT,), _height)
    attempt((ids.AIM,), lambda r: stop_fields.aim_deg(r[ids.AIM]))
    attempt(
        (ids.DECLINATION,), lambda r: stop_fields.declination_deg(r[ids.DECLINATION])
    )
    attempt((ids.SKYLINE,), lambda r: stop_fields.spot(r[ids.SKYLINE], catalog))
    attempt((ids.AT,), lambda r: stop_fields.time_of_day(r[ids.AT]))
    attempt((ids.START,), lambda r: loop_fields.start(r[ids.START]))
    attempt((ids.SPEED,), lambda r: loop_fields.speed_kmh(r[ids.SPEED]))
    attempt((ids.LIGHT,), lambda r: loop_fields.light(r[ids.LIGHT]))
    attempt((ids.LEGS,), loop_fields.read)
    rigs = _mended_rigs(Raw(tuple(fields.items()), raw.rigs), catalog, said)
    drive = raw.drive if len(raw.drive) < 40 else ""
    return Raw(tuple(fields.items()), rigs or base.rigs, drive), tuple(said)


def _mended_rigs(raw: Raw, catalog: Catalog, said: list[str]) -> tuple[RigTexts, ...]:
    kept = []
    for rig in raw.rigs[:MAX_RIGS]:
        trial = list(rig)
        # Blank one wrong setting after another, from the left.
        for _ in range(len(rig)):
            try:
                _rig(_texts(trial), raw, catalog)
            except ValueError as error:
                if str(error) not in said:
                    said.append(str(error))
                wrong = _wrong_setting(trial, raw, catalog)
                if wrong is None:
                    break
                trial[wrong] = ""
            else:
                kept.append(_texts(trial))
                break
    if len(raw.rigs) > MAX_RIGS:
        said.append(f"at most {MAX_RIGS} rigs can be compared, got {len(raw.rigs)}")
    return tuple(kept)


def _wrong_setting(rig: list[str], raw: Raw, catalog: Catalog) -> int | None:
    """Return the first setting that is wrong by itself; None if it is the name."""
    for i in range(1, len(rig)):
        alone = [rig[0], "", "", "", ""]
        alone[i] = rig[i]
        if i == 2:  # an aperture is right or wrong at a focal length
            alone[1] = rig[1]
        try:
            _rig(_texts(alone), raw, catalog)
        except ValueError:
            return i if rig[i] else None
    return None


def _texts(rig: list[str]) -> RigTexts:
    name, focal, aperture, shutter, iso = rig
    return name, focal, aperture, shutter, iso


def _one_at_a_time(compute: Callable[_P, _T]) -> Callable[_P, _T]:
    """Let callers wait for one another, so that none computes what another just does.

    A form that changes asks for the same plan in several requests at once; and years
    that are computed side by side would leave short answers no time.
    """
    lock = threading.Lock()

    @wraps(compute)
    def waiting(*args: _P.args, **named: _P.kwargs) -> _T:
        with lock:
            return compute(*args, **named)

    return waiting


@_one_at_a_time
@lru_cache(maxsize=16)  # a plan may take 7 MB: 62 days by the minute, 6 rigs
def planned(request: Request) -> TripPlan:
    """Return the plan of a request, computed once for all who ask."""
    return plan.make(request)


@_one_at_a_time
@lru_cache(maxsize=4)  # a year may take 40 MB
def planned_year(request: Request, year: int, rig: int) -> Season:
    """Return the year of a request, computed once for all who ask."""
    return season.make(request, year, rig)


@_one_at_a_time
@lru_cache(maxsize=6)  # a year of minutes takes 13 MB
def planned_spot(place: Place, spot: Spot, year: int) -> SpotYear:
    """Return the year at a spot, computed once for all who ask."""
    return spots.make(place, spot, year)


def year_of(raw: Raw) -> int:
    """Return the year; ValueError outside 1950–2037."""
    first, last = localtime.FIRST_YEAR, localtime.LAST_YEAR
    return round(typed.number(raw[ids.YEAR], "year", first, last))


def shown_of(raw: Raw) -> int:
    """Return the index of the rig that the year's picture shows."""
    return LETTERS.index(
        typed.one_of(raw[ids.SHOWN], dict.fromkeys(LETTERS), "rig letter")
    )


def order_of(raw: Raw) -> str:
    """Return what drives are ordered by; ValueError if it is unknown."""
    return typed.one_of(raw[ids.ORDER], {w.key: w for w in compare.WANTS}, "order")


def spot_of(raw: Raw, catalog: Catalog) -> tuple[Place, Spot | None]:
    """Return the place and its spot, None if it has none.

    A spot of another place stays behind when the place changes: the first of this
    place is then meant, as it is where none is named.

    Raises
    ------
    ValueError
        If the place is wrong, or no place has such a spot.
    """
    place = _place(raw, catalog)
    name, here = raw[ids.SPOT], place.spots
    everywhere = [spot.name for p in catalog.places for spot in p.spots]
    if name and name not in everywhere:
        raise ValueError(
            f"spot {name[:40]!r} is unknown{did_you_mean(name, everywhere)}"
        )
    named = (spot for spot in here if spot.name == name)
    return place, next(named, here[0] if here else None)


def wish_of(raw: Raw) -> Wish:
    """Return the light waited for; ValueError if it is unknown or out of range."""
    return Wish(_wish_key(raw), _behind(raw), _height(raw))


def _wish_key(raw: Raw) -> str:
    return typed.one_of(raw[ids.WISH], {w.key: w for w in WISHES}, "light")


def _behind(raw: Raw) -> float:
    return typed.number(
        raw[ids.BEHIND], "widest angle from straight behind", 1, 60, "°"
    )


def _height(raw: Raw) -> float:
    return typed.number(raw[ids.HEIGHT], "highest sun", 1, spots.TOP_DEG, "°")


def marks_of(raw: Raw) -> frozenset[str]:
    """Return the keys of the drives marked for booking."""
    return frozenset(key for key in raw[ids.MARKS].split(",") if key)


def _skies(raw: Raw) -> tuple[tuple[str, str], ...]:
    """Read ``2027-08-12-evening:haze,…``, the drives with a sky of their own."""
    pairs = [text.partition(":") for text in raw[ids.SKIES].split(",") if text]
    return tuple((key, daylight.sky_named(sky).key) for key, _, sky in pairs)


def _place(raw: Raw, catalog: Catalog) -> Place:
    if raw[ids.PLACE] != OWN:
        return catalog.place(raw[ids.PLACE])
    latitude, longitude = _latitude(raw), _longitude(raw)
    zone = raw[ids.ZONE]
    localtime.zone(zone)
    return Place(
        name=f"{_degrees(latitude, 'NS')} {_degrees(longitude, 'EW')}",
        latitude_deg=latitude,
        longitude_deg=longitude,
        timezone=zone,
    )


def _latitude(raw: Raw) -> float:
    return typed.number(raw[ids.LATITUDE], "latitude", -90, 90, "°")


def _longitude(raw: Raw) -> float:
    return typed.number(raw[ids.LONGITUDE], "longitude", -180, 180, "°")


def _dates(raw: Raw) -> tuple[dt.date, dt.date]:
    found = []
    for name, label in ((ids.FIRST, "first date"), (ids.LAST, "last date")):
        try:
            found.append(dt.date.fromisoformat(raw[name]))
        except ValueError:
            raise ValueError(
                f"{label} must be a date like 2027-08-12, got {raw[name]!r}"
            ) from None
    first, last = found
    drives.dates(first, last)
    return first, last


def _rigs(raw: Raw, catalog: Catalog) -> tuple[RigChoice, ...]:
    if not raw.rigs:
        raise ValueError(f"choose 1 to {MAX_RIGS} rigs to compare, got none")
    return tuple(_rig(rig, raw, catalog) for rig in raw.rigs)


def _rig(texts: RigTexts, raw: Raw, catalog: Catalog) -> RigChoice:
    name, focal, aperture, shutter, iso = texts
    rig = catalog.rig(name)
    denominator = typed.optional(
        shutter.removeprefix("1/"), f"shutter of {name}", 1, 32000
    )
    return plan.choose(
        rig,
        typed.one_of(raw[ids.PACE], PACES, "pace"),
        focal_mm=typed.optional(focal, f"focal length of {name}", 1, 5000, " mm"),
        f_number=typed.optional(aperture, f"aperture of {name}", 0.5, 64),
        shutter_s=1 / denominator if denominator else None,
        iso_ceiling=typed.optional(iso, f"ISO ceiling of {name}", 50, 1_000_000),
        distance_m=distance_m(raw),
        blur_px=_blur(raw),
    )


def _travel(raw: Raw) -> int:
    return round(
        typed.number(raw[ids.TRAVEL], "travel time to the gate", 0, 600, " min")
    )


def distance_m(raw: Raw) -> float:
    """Return the distance to the animal [m]; ValueError outside 1–2000 m."""
    return typed.number(raw[ids.DISTANCE], "distance to the animal", 1, 2000, " m")


def _blur(raw: Raw) -> float:
    return typed.number(raw[ids.BLUR], "tolerated blur", 0.5, 50, " px")


def _degrees(value: float, signs: str) -> str:
    return f"{abs(value):.4g}° {signs[value < 0]}"
