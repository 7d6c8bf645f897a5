"""What the tests share: the copied reference tables, SPA, and the IANA zones."""

import csv
import datetime as dt
import io
import json
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

import numpy as np
import pytest
import pytz
import wild
from hypothesis import settings
from numpy.typing import ArrayLike, NDArray

# What a property without a number of its own tries.
settings.register_profile("lightplan", wild.cases(100))
settings.load_profile("lightplan")


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Leave out what takes long, unless LIGHTPLAN_THOROUGH is set, as .ci/run does."""
    if not wild.THOROUGH:
        skip = pytest.mark.skip(reason="takes long: LIGHTPLAN_THOROUGH=1 runs it")
        for item in items:
            if item.get_closest_marker("thorough"):
                item.add_marker(skip)


DATA = Path(__file__).parent / "data"


def rows(name: str) -> list[dict[str, str]]:
    """Read one of the CSV files in ``tests/data`` as dictionaries."""
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(name="rows", scope="session")
def _rows_reader() -> Callable[[str], list[dict[str, str]]]:
    return rows


@pytest.fixture(scope="session")
def document() -> Callable[[str], dict[str, Any]]:
    """Read one of the JSON files in ``tests/data``."""
    return lambda name: json.loads((DATA / name).read_text(encoding="utf-8"))


class Sky(NamedTuple):
    """Where SPA puts the sun, without refraction. [°]"""

    altitude_deg: NDArray[np.float64]
    azimuth_deg: NDArray[np.float64]


@pytest.fixture(scope="session")
def spa() -> Callable[[ArrayLike, ArrayLike, ArrayLike], Sky]:
    """Return NREL's SPA as pvlib computes it: an ephemeris of its own kind (VSOP87)."""
    from pvlib import spa  # slow to import, so only when a test asks for it

    def sky(utc: ArrayLike, latitude_deg: ArrayLike, longitude_deg: ArrayLike) -> Sky:
        instants = np.asarray(utc, dtype="datetime64[ms]")
        seconds = instants.astype(np.int64) / 1000.0
        year = 1970.0 + seconds / (365.25 * 86400.0)
        *_, altitude, azimuth, _ = spa.solar_position_numpy(
            seconds,
            np.asarray(latitude_deg, dtype=np.float64),
            np.asarray(longitude_deg, dtype=np.float64),
            elev=0.0,
            pressure=1013.25,
            temp=12.0,
            delta_t=spa.calculate_deltat(year, 6),
            atmos_refract=0.5667,
            numthreads=1,
        )
        return Sky(altitude, azimuth)

    return sky


@pytest.fixture(scope="session")
def iana() -> Callable[[str], ZoneInfo]:
    """Open a zone with the standard library, from the IANA files pytz ships.

    One set of files and two readers, so that a difference is never merely a
    newer or older release of the database.
    """

    def zone(name: str) -> ZoneInfo:
        with pytz.open_resource(name) as file:
            return ZoneInfo.from_file(file, key=name)

    return zone


@pytest.fixture(scope="session")
def local_day(
    iana: Callable[[str], ZoneInfo],
) -> Callable[[str, dt.date], list[np.datetime64]]:
    """Return the UTC instants at which a local day begins and ends, by zoneinfo."""

    def bounds(timezone: str, date: dt.date) -> list[np.datetime64]:
        zone = iana(timezone)
        midnights = (date, date + dt.timedelta(days=1))
        return [
            np.datetime64(
                dt.datetime.combine(day, dt.time(), zone)
                .astimezone(dt.UTC)
                .replace(tzinfo=None),
                "s",
            )
            for day in midnights
        ]

    return bounds


@pytest.fixture(scope="session")
def image() -> Callable[..., bytes]:
    """Write a small image with an Exif header, by Pillow.

    ``tags`` are those of Exif's own directory, ``gps`` of the GPS one, by number;
    rationals as fractions.
    """
    from PIL import Image
    from PIL.TiffImagePlugin import IFDRational

    def rational(value: Any) -> Any:
        if isinstance(value, Fraction):
            return IFDRational(value.numerator, value.denominator)
        if isinstance(value, tuple):
            return tuple(rational(v) for v in value)
        return value

    def write(
        tags: dict[int, Any], gps: dict[int, Any] | None = None, kind: str = "JPEG"
    ) -> bytes:
        exif = Image.Exif()
        exif.get_ifd(0x8769).update({k: rational(v) for k, v in tags.items()})
        if gps:
            exif.get_ifd(0x8825).update({k: rational(v) for k, v in gps.items()})
        file = io.BytesIO()
        Image.new("L", (8, 8)).save(file, kind, exif=exif.tobytes())
        return file.getvalue()

    return write
