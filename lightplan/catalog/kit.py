"""Bodies, lenses, converters, rigs; widest aperture and the shutter needed."""

from itertools import pairwise
from typing import Annotated, Any, Literal

import numpy as np
from numpy.typing import ArrayLike
from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    Strict,
    field_validator,
    model_validator,
)

from lightplan.arrays import FloatArray
from lightplan.camera import exposure, noise, shake
from lightplan.camera.pace import PACES, nearest_pace, smear_m_s

# Sensor width and height in mm; sources beside the tests.
FORMATS = {
    "full frame": (36.0, 24.0),
    "APS-C": (23.5, 15.6),
    "APS-C 1.6x": (22.3, 14.9),
    "four thirds": (17.3, 13.0),
    "1 inch": (13.2, 8.8),
    "44x33": (43.8, 32.9),
}

Format = Literal["full frame", "APS-C", "APS-C 1.6x", "four thirds", "1 inch", "44x33"]
# Strict: true is no number, and neither is "45".
Number = Annotated[float, Strict()]
Whole = Annotated[int, Strict()]
# No control characters, no line separators, nothing that turns text about.
_ONE_LINE = r"^[^\x00-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]*$"
Line = Annotated[str, Field(max_length=120, pattern=_ONE_LINE)]
Name = Annotated[Line, Field(min_length=1, max_length=80)]
# As rated by CIPA DC-011: 0 without a stabiliser.
Stabiliser = Annotated[Number, Field(ge=0, le=8)]


class Entry(BaseModel):
    """One table of the TOML file: immutable; unknown keys are refused."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class Body(Entry):
    """A camera body. Give ``format``, or ``width_mm`` and ``height_mm``.

    Without an ``iso_ceiling``, the highest ISO accepted, noise sets one. Below
    ``base_iso`` the shutter gets faster, as the ISO goes no lower.
    """

    name: Name
    format: Format | None = None
    width_mm: Annotated[Number, Field(gt=0, le=100)] = 0.0
    height_mm: Annotated[Number, Field(gt=0, le=100)] = 0.0
    megapixels: Annotated[Number, Field(ge=1, le=500)]
    iso_ceiling: Annotated[Whole, Field(ge=50, le=1_000_000)] | None = None
    base_iso: Annotated[Whole, Field(ge=25, le=6400)] = 100
    stabiliser_stops: Stabiliser = 0.0

    @model_validator(mode="before")
    @classmethod
    def _size_from_format(cls, data: Any) -> Any:
        if not isinstance(data, dict):
            return data
        named = data.get("format")
        if isinstance(named, str) and named in FORMATS:
            width, height = FORMATS[named]
            return {"width_mm": width, "height_mm": height, **data}
        if "format" not in data and not {"width_mm", "height_mm"} <= data.keys():
            raise ValueError("a body needs a format, or width_mm and height_mm")
        return data

    def iso_at(self, snr: float, output: str, share_used: float = 1.0) -> float:
        """Return the ISO at which its pictures have a signal-to-noise ratio. [ISO].

        ``snr`` as for `noise.iso_at`, ``output`` and ``share_used`` as for
        `noise.output_pixel_um2`.
        """
        area = noise.output_pixel_um2(
            output, self.sensor_mm, self.megapixels, share_used
        )
        return noise.iso_at(snr, area)

    @property
    def sensor_mm(self) -> tuple[float, float]:
        """Width and height of the sensor. [mm]."""
        return self.width_mm, self.height_mm

    @property
    def pixel_pitch_mm(self) -> float:
        """Side of one (square) pixel. [mm]."""
        return float(np.sqrt(self.width_mm * self.height_mm / (self.megapixels * 1e6)))


class Lens(Entry):
    """A lens: ``widest`` pairs focal length [mm] with widest f-number there.

    One pair is a prime, two or more a zoom. ``transmission`` is the share of
    light let through (T-number = f-number / √transmission).
    """

    name: Name
    widest: Annotated[
        tuple[tuple[Number, Number], ...], Field(min_length=1, max_length=100)
    ]
    transmission: Annotated[Number, Field(gt=0, le=1)] = 1.0
    stabiliser_stops: Stabiliser = 0.0

    @field_validator("widest")
    @classmethod
    def _in_order(
        cls, widest: tuple[tuple[float, float], ...]
    ) -> tuple[tuple[float, float], ...]:
        for focal, f_number in widest:
            if not 0 < focal <= 5000:
                raise ValueError(
                    "must have focal lengths above 0 and up to 5000 mm, each before "
                    f"its f-number, got {focal:g}"
                )
            if not 0.5 <= f_number <= 64:
                raise ValueError(
                    "must have f-numbers of 0.5 to 64, each after its focal length, "
                    f"got {f_number:g}"
                )
        focals = [focal for focal, _ in widest]
        if any(a >= b for a, b in pairwise(focals)):
            raise ValueError(f"must list focal lengths in rising order, got {focals}")
        return widest


class Converter(Entry):
    """A teleconverter; ×M multiplies focal length and f-number by M."""

    name: Name
    factor: Annotated[Number, Field(gt=1, le=3)]


class Rig(Entry):
    """A body with a lens and perhaps a converter, ready to shoot.

    Focal lengths are those in front of the sensor, converter included.
    """

    name: Name
    body: Body
    lens: Lens
    converter: Converter | None = None

    @property
    def factor(self) -> float:
        """What the converter multiplies by; 1 without one."""
        return self.converter.factor if self.converter else 1.0

    @property
    def stabiliser_stops(self) -> float:
        """The stronger stabiliser of body and lens, as rated. [stops]."""
        return max(self.body.stabiliser_stops, self.lens.stabiliser_stops)

    @property
    def focal_range_mm(self) -> tuple[float, float]:
        """Shortest and longest focal length, converter included. [mm]."""
        focals = [focal for focal, _ in self.lens.widest]
        return focals[0] * self.factor, focals[-1] * self.factor

    def checked_focal_mm(self, focal_mm: float) -> float:
        """Return the focal length, or raise ValueError beyond the lens."""
        low, high = self.focal_range_mm
        if not low - 0.5 <= focal_mm <= high + 0.5:
            reach = f"{low:g}–{high:g} mm" if low < high else f"{low:g} mm only"
            raise ValueError(
                f"focal length of {self.name} must be {reach}, got {focal_mm:g} mm"
            )
        return focal_mm

    def widest_f_number(self, focal_mm: float) -> float:
        """Return the widest aperture at a focal length.

        Parameters
        ----------
        focal_mm : float
            Focal length, converter included. [mm]

        Returns
        -------
        float
            f-number; between listed focal lengths it runs straight in stops.

        Raises
        ------
        ValueError
            If the focal length is beyond the lens.
        """
        bare = self.checked_focal_mm(focal_mm) / self.factor
        focals, f_numbers = zip(*self.lens.widest, strict=True)
        stops = np.interp(np.log2(bare), np.log2(focals), np.log2(f_numbers))
        return float(2.0**stops) * self.factor

    def checked_f_number(self, f_number: float, focal_mm: float) -> float:
        """Return the f-number, or raise ValueError if the lens does not have it."""
        widest = self.widest_f_number(focal_mm)
        # A sixth of a stop of slack: with ×2 an f/5.6 lens shows as f/11.
        if not widest * 2 ** (-1 / 12) <= f_number <= 64:
            raise ValueError(
                f"aperture of {self.name} at {focal_mm:g} mm must be between "
                f"{exposure.f_number_text(widest)} and f/64, "
                f"got {exposure.f_number_text(f_number)}"
            )
        return f_number


DISTANCE_M = 30.0
BLUR_PX = 3.0
HAND, ANIMAL = "hand", "lion"


def sharp_share(
    rig: Rig,
    focal_mm: float,
    shutter_s: ArrayLike,
    pace: str,
    distance_m: float = DISTANCE_M,
    blur_px: float = BLUR_PX,
    hold: str = HAND,
    animal: str = ANIMAL,
) -> FloatArray:
    """Return the share of frames that a rig takes sharp at a shutter time.

    Parameters
    ----------
    rig : Rig
        For its pixels and its stabiliser.
    focal_mm : float
        Converter included. [mm]
    shutter_s : array_like, shape (...)
        Exposure time. [s]
    pace, animal, hold : str
        Keys of `camera.pace.PACES`, `camera.animals.ANIMALS`, `camera.shake.HOLDS`.
    distance_m, blur_px : float
        To the animal [m], and blur allowed [pixels].

    Returns
    -------
    ndarray, shape (...)
        0 to 1.

    Raises
    ------
    ValueError
        If a key is unknown, or a quantity not positive.
    """
    return shake.sharp_share(
        shutter_s,
        focal_mm,
        rig.body.pixel_pitch_mm,
        blur_px,
        hold,
        rig.stabiliser_stops,
        smear_m_s(animal, pace),
        distance_m,
    )


def proposed_shutter_s(
    rig: Rig,
    focal_mm: float,
    pace: str,
    distance_m: float = DISTANCE_M,
    blur_px: float = BLUR_PX,
    hold: str = HAND,
    animal: str = ANIMAL,
) -> float:
    """Return the slowest engraved shutter time at which enough frames are sharp. [s].

    Enough is what the pace asks for. Where no time is fast enough, the fastest that
    mechanical shutters have.
    Parameters and errors as for `sharp_share`.
    """
    times = 1.0 / np.array(exposure.SHUTTER_DENOMINATORS)
    times = times[times >= exposure.FASTEST_S]
    share = sharp_share(rig, focal_mm, times, pace, distance_m, blur_px, hold, animal)
    enough = share >= PACES[nearest_pace(animal, pace)].sharp_wanted
    return float(times[enough.argmax()] if enough.any() else times[-1])
