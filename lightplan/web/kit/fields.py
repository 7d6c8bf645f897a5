"""The form of each kind of entry: its fields, its parts, their labels."""

import re
from typing import Literal, NamedTuple

from lightplan.catalog.gates import SESSIONS, WEEKDAYS
from lightplan.catalog.kit import FORMATS
from lightplan.light import daylight
from lightplan.sky import localtime

Control = Literal["text", "number", "choice", "search"]
Options = tuple[tuple[str, str], ...]


class Field(NamedTuple):
    """A key of a table, as a field of the form."""

    key: str
    label: str
    control: Control = "text"
    options: Options = ()
    like: str = ""  # an example, shown while the field is empty
    wide: bool = False


class Part(NamedTuple):
    """Tables within an entry: their title, a hint, their fields."""

    key: str
    title: str
    one: str
    hint: str
    fields: tuple[Field, ...]


_SKIES = tuple((s.key, s.label) for s in daylight.FORECASTS.values())
_COVERS = tuple((c.key, c.label) for c in daylight.COVERS.values())
_NAME = Field("name", "Name", wide=True)
_STABILISER = Field(
    "stabiliser_stops", "Stabiliser, stops as rated", "number", like="0"
)

FIELDS: dict[str, tuple[Field, ...]] = {
    "places": (
        _NAME,
        Field("latitude_deg", "Latitude, °N", "number", like="-14.0"),
        Field("longitude_deg", "Longitude, °E", "number", like="29.0"),
        Field(
            "timezone",
            "Time zone",
            "search",
            tuple((z, z) for z in localtime.zone_names()),
            like="choose a time zone",
        ),
        Field("elevation_m", "Height above the sea, m", "number", like="0"),
        Field("sky", "Usual sky", "choice", _SKIES),
        Field("cover", "Usual cover", "choice", _COVERS),
        Field(
            "air",
            "Air, January to December: optical depth at 500 nm",
            like="0.2 0.2 0.2 0.15 0.1 0.1 0.15 0.2 0.3 0.4 0.3 0.2",
            wide=True,
        ),
    ),
    "covers": (
        _NAME,
        Field("stops", "Darker by, stops", "number", like="3.4"),
        Field("spread_stops", "± stops", "number", like="0.5"),
        Field("base", "Darker than", "choice", _COVERS),
        Field("bursts", "Learned from bursts", "number", like="0"),
        Field("frames", "Learned from frames", "number", like="0"),
    ),
    "rigs": (
        _NAME,
        Field("body", "Body", "choice", like="choose a body"),
        Field("lens", "Lens", "choice", like="choose a lens"),
        Field("converter", "Converter", "choice", (("", "none"),)),
    ),
    "bodies": (
        _NAME,
        Field(
            "format",
            "Sensor",
            "choice",
            (
                *((f, f"{f}, {w:g} × {h:g} mm") for f, (w, h) in FORMATS.items()),
                ("", "another size"),
            ),
        ),
        Field("megapixels", "Megapixels", "number", like="45"),
        Field("width_mm", "Another width, mm", "number", like="the sensor’s"),
        Field("height_mm", "Another height, mm", "number", like="the sensor’s"),
        Field("iso_ceiling", "Highest ISO you accept", "number", like="by noise"),
        Field("base_iso", "Base ISO", "number", like="100"),
        _STABILISER,
    ),
    "lenses": (
        _NAME,
        Field("transmission", "Transmission, 0 to 1", "number", like="1"),
        _STABILISER,
    ),
    "converters": (_NAME, Field("factor", "Factor", "number", like="1.4")),
}

_RATED = (
    "The stronger stabiliser of body and lens counts. Ratings (CIPA DC-011) allow "
    "63 µm of blur on full frame, about 14 pixels: take one stop off for feathers at "
    "100 %."
)
# What to know of the fields of an entry.
HINTS = {"bodies": _RATED, "lenses": _RATED}

_TIMES = {
    "morning": ("06:00", "10:00"),
    "evening": ("15:30", "18:30"),
    "night": ("19:30", "22:00"),
}
PARTS: dict[str, tuple[Part, ...]] = {
    "places": (
        Part(
            "gates",
            "Gate times by season",
            "season",
            "Times like 06:00, or sunrise-00:30 and sunset+00:15; after midnight keep "
            "counting: 25:30. Days are month-day; the first season that fits counts. "
            "Without seasons, drives follow civil twilight.",
            (
                Field("from", "First day", like="01-01"),
                Field("to", "Last day", like="12-31"),
                *(
                    Field(
                        f"{session}_{end}", f"{session.capitalize()} {end}", like=time
                    )
                    for session in SESSIONS
                    for end, time in zip(
                        ("opens", "closes"), _TIMES[session], strict=True
                    )
                ),
            ),
        ),
        Part(
            "closures",
            "Closures",
            "closure",
            "Give first and last day (2027-02-01, or 02-01 for every year), or a "
            "weekday, or both.",
            (
                Field("from", "First day", like="02-01"),
                Field("to", "Last day", like="03-15"),
                Field(
                    "weekday",
                    "Weekday",
                    "choice",
                    (("", "any"), *((day, day) for day in WEEKDAYS)),
                ),
                Field(
                    "session",
                    "Session",
                    "choice",
                    (("", "all day"), *((s, s) for s in SESSIONS)),
                ),
                Field("reason", "Reason shown", like="closed", wide=True),
            ),
        ),
        Part(
            "spots",
            "Spots",
            "spot",
            "Bearings run clockwise from true north. Write a skyline as pairs of "
            "bearing and altitude in degrees: 60 2, 90 4, 120 5.",
            (
                _NAME,
                Field("bearing_deg", "Camera bearing, °", "number", like="115"),
                Field("cover", "Over the animal", "choice", _COVERS),
                Field("horizon", "Skyline", like="60 2, 90 4, 120 5", wide=True),
            ),
        ),
    ),
    "lenses": (
        Part(
            "widest",
            "Widest aperture",
            "focal length",
            "One row for a prime, more for a zoom, in rising order.",
            (
                Field("focal_mm", "Focal length, mm", "number", like="600"),
                Field("f_number", "Widest f-number there", "number", like="4"),
            ),
        ),
    ),
}
_NEW = {
    "places": {"sky": "clear", "cover": "open"},
    "covers": {"base": "open"},
    "bodies": {"format": "full frame"},
    "spots": {"cover": "open"},
}


def parts(kind: str) -> tuple[Part, ...]:
    """Return the parts that an entry of that kind has beside its own fields."""
    return PARTS.get(kind, ())


def usual(kind: str) -> dict[str, str]:
    """Return the texts that a new entry, or a new row of a part, starts with."""
    return dict(_NEW.get(kind, {}))


_WORDS = {
    field.key: field.label.split(",")[0].lower()
    for fields in FIELDS.values()
    for field in fields
    if "_" in field.key
} | {
    "timezone": "time zone",
    "iso_ceiling": "highest ISO",
    "base_iso": "base ISO",
    "bearing_deg": "camera bearing",
}
_KEYS = re.compile(rf"\b({'|'.join(_WORDS)})\b")


def in_words(sentence: str) -> str:
    """Return a sentence with the file's keys replaced by the form's labels."""
    return _KEYS.sub(lambda key: _WORDS[key[0]], sentence)
