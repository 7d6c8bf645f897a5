"""Every choice a person can make, in the order of the pages.

The form, the links, the usual values, the repair of links, the command line and
the tests are made from these entries. To add one, write its entry, put it into
`CHOICES` and use it.
"""

import datetime as dt
from typing import Any

from lightplan.camera.animals import ANIMALS
from lightplan.camera.noise import OUTPUTS, USUAL_OUTPUT
from lightplan.camera.pace import PACES
from lightplan.camera.shake import HOLDS
from lightplan.catalog import covers
from lightplan.catalog.kit import ANIMAL, BLUR_PX, DISTANCE_M, HAND
from lightplan.catalog.places import Catalog, Place, Spot
from lightplan.choices import loop, spots, stop, trip, typed
from lightplan.choices.choice import Choice, Option, Options, Usual
from lightplan.choices.raw import OWN
from lightplan.light import daylight
from lightplan.light.air import AIRS, air_named
from lightplan.light.backlight import SECTORS
from lightplan.loop import route
from lightplan.loop.route import Route
from lightplan.sky import localtime
from lightplan.spots.chances import WISHES, Wish
from lightplan.spots.spots import TOP_DEG
from lightplan.trip import compare
from lightplan.trip.request import (
    BLURS_PX,
    DISTANCES_M,
    FACING_INDEX,
    FACINGS,
    GOLDS,
    LETTERS,
    USUAL_TRAVEL_MIN,
    WARM_K,
    WARM_K_RANGE,
)

_LONGEST_LIST = 8000  # characters of marks and skies: 62 days of three drives


def _within(what: str, low: float, high: float, unit: str) -> Any:
    return lambda text, raw, catalog: typed.number(text, what, low, high, unit)


def _whole(what: str, low: float, high: float, unit: str = "") -> Any:
    return lambda text, raw, catalog: round(typed.number(text, what, low, high, unit))


def _optional(what: str, low: float, high: float, unit: str) -> Any:
    return lambda text, raw, catalog: typed.optional(text, what, low, high, unit)


def _known(what: str, known: Any) -> Any:
    return lambda text, raw, catalog: typed.one_of(text, known, what)


def _places(catalog: Catalog) -> Options:
    return [*((p.name, p.name) for p in catalog.places), (OWN, OWN)]


def _zones(catalog: Catalog) -> Options:
    return [(zone, zone) for zone in localtime.zone_names()]


def _skies(catalog: Catalog) -> Options:
    return [(sky.key, sky.label) for sky in daylight.SKIES.values()]


def _covers(catalog: Catalog) -> Options:
    return [(cover.key, cover.label) for cover in covers.known(catalog.covers)]


def _skylines(catalog: Catalog) -> Options:
    known = [(name, name) for name in stop.skylines(catalog)]
    return [("", "level all round"), *known]


PLACE = Choice[Place](
    "place",
    "Place",
    lambda text, raw, catalog: trip.place(raw, catalog),
    right="Mopane Loop",
    kind="list",
    usual=lambda usual: usual.place.name,
    options=_places,
    pages=("trip", "year", "stop", "spots", "loop", "learn"),
    with_names=("lat", "lon", "zone"),
    option=Option("--place", "NAME", "a place in the file"),
)
LATITUDE = Choice[float](
    "lat",
    "Latitude, °N",
    _within("latitude", -90, 90, "°"),
    right="-24.5",
    kind="number",
    usual=lambda usual: f"{usual.place.latitude_deg:g}",
    step=0.1,
    option=Option("--latitude", "DEG", "or coordinates: north is positive"),
)
LONGITUDE = Choice[float](
    "lon",
    "Longitude, °E",
    _within("longitude", -180, 180, "°"),
    right="31.25",
    kind="number",
    usual=lambda usual: f"{usual.place.longitude_deg:g}",
    step=0.1,
    option=Option("--longitude", "DEG", "of the coordinates, east is positive"),
    beside=True,
)
ZONE = Choice[str](
    "zone",
    "Time zone",
    lambda text, raw, catalog: trip.zone(text),
    right="Africa/Johannesburg",
    kind="list",
    usual=lambda usual: usual.place.timezone,
    options=_zones,
    option=Option("--zone", "NAME", "of the coordinates, like Africa/Lusaka"),
)
FIRST = Choice[dt.date](
    "from",
    "First day",
    lambda text, raw, catalog: trip.dates(raw)[0],
    right="2027-08-12",
    kind="date",
    usual=lambda usual: usual.first.isoformat(),
    pages=("trip", "stop", "loop"),
    with_names=("to",),
    option=Option("--from", "DATE", "first date, YYYY-MM-DD (default: tomorrow there)"),
)
LAST = Choice[dt.date](
    "to",
    "Last day",
    lambda text, raw, catalog: trip.dates(raw)[1],
    right="2027-08-13",
    kind="date",
    usual=lambda usual: usual.last.isoformat(),
    pages=("trip", "stop", "loop"),
    with_names=("from",),
    option=Option("--to", "DATE", "last date (default: six days after the first)"),
    beside=True,
)
SPOT = Choice[Spot | None](
    "spot",
    "Spot",
    lambda text, raw, catalog: spots.spot(text, raw, catalog),
    right="Oxbow hide",
    empty=True,
    pages=("spots",),
)
YEAR = Choice[int](
    "year",
    "Year",
    _whole("year", localtime.FIRST_YEAR, localtime.LAST_YEAR),
    right="2027",
    kind="number",
    usual=lambda usual: str(usual.first.year),
    pages=("year", "spots"),
)
LIGHT = Choice[str](
    "light",
    "Light wanted",
    _known("light", {sector.key: sector for sector in SECTORS}),
    right="rim",
    kind="list",
    usual=SECTORS[0].key,
    options=lambda catalog: [(sector.key, sector.label) for sector in SECTORS],
    pages=("loop",),
)
START = Choice[dt.timedelta | None](
    "start",
    "Start",
    lambda text, raw, catalog: loop.start(text),
    right="15:45",
    kind="time",
    empty=True,
    hint="empty: when the gates open",
    pages=("loop",),
)
SPEED = Choice[float](
    "speed",
    "Speed, km/h",
    _within("speed", 1, route.FASTEST_KMH, " km/h"),
    right="20",
    kind="number",
    usual=f"{loop.USUAL_SPEED_KMH:g}",
    step=5,
    hint="for legs given in km",
    pages=("loop",),
    beside=True,
)
LEGS = Choice[Route](
    "legs",
    "Legs of the loop",
    lambda text, raw, catalog: loop.legs(text),
    right="from -13 31.8\nNE 3 km; stop 9 min",
    kind="text",
    empty=True,
    longest=route.LONGEST_TEXT + 1,  # a longer text is refused, not cut
    pages=("loop",),
    example=loop.EXAMPLE,
)
AIM = Choice[float | None](
    "aim",
    "Aim, degrees from true north (optional)",
    _optional("aim", 0, 360, "°"),
    right="270",
    kind="number",
    empty=True,
    step=5,
    pages=("stop",),
)
DECLINATION = Choice[float | None](
    "declination",
    "Magnetic declination, degrees east (optional)",
    _optional("magnetic declination", -180, 180, "°"),
    right="-4.5",
    kind="number",
    empty=True,
    step=0.5,
    pages=("stop",),
)
SKYLINE = Choice[stop.AtPlace | None](
    "skyline",
    "Skyline",
    lambda text, raw, catalog: stop.spot(text, catalog),
    right="Mopane Loop: Oxbow hide",
    kind="list",
    empty=True,
    options=_skylines,
    pages=("stop",),
)
AT = Choice[str](
    "at",
    "Minute shown",
    lambda text, raw, catalog: stop.time_of_day(text),
    right="15:45",
    empty=True,
)
PACE = Choice[str](
    "pace",
    "The animal is",
    _known("pace", PACES),
    right="flying",
    kind="row",
    usual="walking",
    options=lambda catalog: [(pace.key, pace.label) for pace in PACES.values()],
    pages=("trip", "year", "stop"),
    option=Option("--pace", "PACE", f"{', '.join(PACES)} (default: walking)"),
)
FACING = Choice[str](
    "side",
    "Lit from",
    _known("side", FACING_INDEX),
    right="back",
    kind="row",
    usual="side",
    options=lambda catalog: [(facing.key, facing.key) for facing in FACINGS],
    pages=("trip", "year"),
    option=Option(
        "--facing", "SIDE", f"lit from: {', '.join(FACING_INDEX)} (default: side)"
    ),
)
SKY = Choice[str](
    "sky",
    "Sky",
    lambda text, raw, catalog: daylight.sky_named(text).key,
    right="broken",
    kind="list",
    usual=lambda usual: trip.sky_and_air(usual.place.sky)[0],
    options=_skies,
    pages=("trip", "year", "stop", "loop"),
    option=Option(
        "--sky", "SKY", f"{', '.join(daylight.SKIES)} (default: the place's)"
    ),
)
AIR = Choice[float | None](
    "air",
    "Air",
    lambda text, raw, catalog: air_named(text).aod500 if text else None,
    right="smoke",
    kind="list",
    usual=lambda usual: trip.sky_and_air(usual.place.sky)[1],
    empty=True,
    options=lambda catalog: [
        ("", "usual for the place and month"),
        *((air.key, air.label) for air in AIRS.values()),
    ],
    folded=("trip", "year"),
    option=Option(
        "--air", "AIR", f"{', '.join(AIRS)} (default: the place's own by month)"
    ),
)
GOLD = Choice[str](
    "gold",
    "Best light goes by",
    _known("best light", GOLDS),
    right="golden",
    kind="row",
    usual="warm",
    options=lambda catalog: [(gold.key, gold.by) for gold in GOLDS.values()],
    folded=("trip", "year"),
    option=Option(
        "--gold",
        "LIGHT",
        "what the best light goes by: warm, its colour (the default), or golden, the "
        "sun's altitude",
    ),
)
WARM = Choice[float](
    "warm",
    "Warm light is below, K",
    _within("limit of warm light", *WARM_K_RANGE, " K"),
    right="4000",
    kind="number",
    usual=f"{WARM_K:g}",
    step=100,
    folded=("trip", "year"),
    option=Option(
        "--warm",
        "K",
        f"light below this colour temperature is warm (default: {WARM_K:g})",
    ),
)
COVER = Choice[str | daylight.Cover](
    "cover",
    "Over the animal",
    lambda text, raw, catalog: catalog.cover(text),
    right="shade",
    kind="list",
    usual=lambda usual: usual.place.cover,
    options=_covers,
    pages=("trip", "year", "stop", "loop"),
    option=Option(
        "--cover",
        "COVER",
        f"{', '.join(daylight.COVERS)}, or one in the file (default: the place's)",
    ),
)
TRAVEL = Choice[int](
    "back",
    "Minutes back to the gate",
    _whole("travel time to the gate", 0, 600, " min"),
    right="40",
    kind="number",
    usual=str(USUAL_TRAVEL_MIN),
    step=5,
    pages=("trip",),
    option=Option(
        "--travel",
        "MIN",
        f"minutes from the animals back to the gate (default: {USUAL_TRAVEL_MIN})",
    ),
)
SHOWN = Choice[int](
    "shown",
    "Rig in the picture",
    lambda text, raw, catalog: trip.shown(text, len(raw.rigs)),
    right="B",
    kind="row",
    usual=LETTERS[0],
    options=lambda catalog: [(letter, letter) for letter in LETTERS],
    pages=("year",),
)
WISH = Choice[str](
    "wait",
    "Light you wait for",
    _known("light", {wish.key: wish for wish in WISHES}),
    right="rim",
    kind="row",
    usual=Wish().key,
    options=lambda catalog: [(wish.key, wish.key) for wish in WISHES],
    pages=("spots",),
)
BEHIND = Choice[float](
    "behind",
    "Widest angle from straight behind, °",
    _within("widest angle from straight behind", 1, 60, "°"),
    right="20",
    kind="number",
    usual=f"{Wish().within_deg:g}",
    pages=("spots",),
)
HEIGHT = Choice[float](
    "height",
    "Highest sun, °",
    _within("highest sun", 1, TOP_DEG, "°"),
    right="12",
    kind="number",
    usual=f"{Wish().up_to_deg:g}",
    step=5,
    pages=("spots",),
)
DISTANCE = Choice[float](
    "distance",
    "Distance, m",
    _within("distance to the animal", *DISTANCES_M, " m"),
    right="60",
    kind="number",
    usual=f"{DISTANCE_M:g}",
    step=5,
    pages=("stop",),
    folded=("trip", "year"),
    option=Option(
        "--distance",
        "M",
        f"to the animal, for the proposed shutter (default: {DISTANCE_M:g})",
    ),
)
BLUR = Choice[float](
    "blur",
    "Blur allowed, px",
    _within("blur", *BLURS_PX, " px"),
    right="2.5",
    kind="number",
    usual=f"{BLUR_PX:g}",
    step=0.5,
    folded=("trip", "year"),
    option=Option(
        "--blur", "PX", f"blur allowed, for the proposed shutter (default: {BLUR_PX:g})"
    ),
    beside=True,
)
OUTPUT = Choice[str](
    "output",
    "What the picture is for",
    _known("output", OUTPUTS),
    right="web",
    kind="list",
    usual=USUAL_OUTPUT,
    options=lambda catalog: [(output.key, output.label) for output in OUTPUTS.values()],
    folded=("trip", "year"),
    option=Option(
        "--picture-for",
        "USE",
        f"what the picture is for: {', '.join(OUTPUTS)} (default: {USUAL_OUTPUT}); "
        "sets the ISO limit of a body that has none in the file",
    ),
)
HOLD = Choice[str](
    "hold",
    "How you hold it",
    _known("hold", HOLDS),
    right="beanbag",
    kind="list",
    usual=HAND,
    options=lambda catalog: [(hold.key, hold.label) for hold in HOLDS.values()],
    folded=("trip", "year"),
    option=Option(
        "--hold",
        "HOLD",
        f"{', '.join(HOLDS)}, for the proposed shutter (default: {HAND})",
    ),
)
WHICH = Choice[str](
    "animal",
    "Animal",
    _known("animal", ANIMALS),
    right="elephant",
    kind="list",
    usual=ANIMAL,
    options=lambda catalog: [(animal.key, animal.label) for animal in ANIMALS.values()],
    folded=("trip", "year"),
    option=Option(
        "--animal",
        "ANIMAL",
        f"like lion or small-kingfisher, for its speed (default: {ANIMAL})",
    ),
    beside=True,
)
ORDER = Choice[str](
    "order",
    "Order by",
    _known("order", {want.key: want for want in compare.WANTS}),
    right="action",
    kind="list",
    usual=compare.WANTS[0].key,
    options=lambda catalog: [(want.key, want.label) for want in compare.WANTS],
)
MARKS = Choice[frozenset[str]](
    "book",
    "Drives marked",
    lambda text, raw, catalog: frozenset(filter(None, text.split(","))),
    right="2027-08-12-evening,2027-08-13-morning",
    empty=True,
    longest=_LONGEST_LIST,
)
SKIES = Choice[tuple[tuple[str, str], ...]](
    "skies",
    "Skies of single drives",
    lambda text, raw, catalog: trip.skies(text),
    right="2027-08-12-evening:storm",
    empty=True,
    longest=_LONGEST_LIST,
    pages=("trip", "stop", "loop"),
)

CHOICES: tuple[Choice[Any], ...] = (
    PLACE, LATITUDE, LONGITUDE, ZONE, FIRST, LAST,
    SPOT, YEAR, LIGHT, START, SPEED, LEGS,
    DISTANCE, AIM, DECLINATION, SKYLINE, AT,
    PACE, FACING, SKY, AIR, GOLD, WARM, COVER, TRAVEL,
    SHOWN, WISH, BEHIND, HEIGHT, BLUR, HOLD, WHICH, OUTPUT,
    ORDER, MARKS, SKIES,
)  # fmt: skip
BY_NAME = {choice.name: choice for choice in CHOICES}


def asked_by(page: str) -> tuple[str, ...]:
    """Return the names of the choices that a page's answer depends on."""
    return tuple(
        name
        for choice in CHOICES
        if page in (*choice.pages, *choice.folded)
        for name in (choice.name, *choice.with_names)
    )


def usual(at: Usual) -> dict[str, str]:
    """Return the usual text of every choice."""
    return {choice.name: choice.usual_text(at) for choice in CHOICES}
