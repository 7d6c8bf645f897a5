"""How exactly a position is given, and the caution about sharing one.

Links keep two decimals of a degree, and so do files unless the position is asked
for: 0.01° is about 1 km on the ground and moves the sun by no more than 0.01°,
which it travels in 2.4 s.
"""

import math
import re

from lightplan.catalog.places import Place

DECIMALS = 2  # of a degree
UNNAMED = "Unnamed place"  # in a file, for a place whose coordinates it must not give

# Common practice among guides, reserves and photographers.
CAUTION = (
    "Poachers read what you share: never give the exact place of a rare animal or its "
    "den, remove the position from pictures before you share them, and ask the guide "
    "or the reserve what you may publish."
)

# A number with more decimals; some write them after a comma.
_FINE = re.compile(r"\d{0,9}\.\d{3,}|(?<![\d.])\d{1,9},\d{3,}(?![\d.])")


def coarse_deg(deg: float) -> float:
    """Return an angle rounded to 0.01°. [°]"""
    return round(deg, DECIMALS) + 0.0  # no "-0.0"


def coarse_text(text: str) -> str:
    """Return a text whose numbers have at most two decimals; the rest is unchanged.

    A text that is one number becomes what `coarse_deg` makes of it.
    """
    try:
        value = float(text)
    except ValueError:
        return _FINE.sub(_rounded, text)
    if not math.isfinite(value) or coarse_deg(value) == value:
        return text
    return _written(coarse_deg(value))


def _rounded(match: re.Match[str]) -> str:
    mark = "," if "," in match[0] else "."
    value = coarse_deg(float(match[0].replace(",", ".")))
    return _written(value).replace(".", mark)


def _written(value: float) -> str:
    return f"{value:.{DECIMALS}f}".rstrip("0").rstrip(".")


def name(latitude_deg: float, longitude_deg: float) -> str:
    """Return the name of a place without one: ``18.25° S 25.5° E``."""
    north = f"{abs(latitude_deg):g}° {'S' if latitude_deg < 0 else 'N'}"
    east = f"{abs(longitude_deg):g}° {'W' if longitude_deg < 0 else 'E'}"
    return f"{north} {east}"


def withheld(place: Place) -> Place:
    """Return a place for a file that must not give its position.

    Its position is rounded, since the sun's altitude by the minute would reveal the
    exact one, and a name that is the position is replaced.
    """
    latitude, longitude = place.latitude_deg, place.longitude_deg
    named = place.name != name(latitude, longitude)
    return place.model_copy(
        update={
            "name": place.name if named else UNNAMED,
            "latitude_deg": coarse_deg(latitude),
            "longitude_deg": coarse_deg(longitude),
        }
    )
