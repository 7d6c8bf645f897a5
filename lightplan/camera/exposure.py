"""Lux, EV, ISO, shutter and f-number, and the scales cameras print them on.

The incident-light equation N²/t = E·S/C with C = 250 (ISO 2720:1974, flat
receptor) ties them together. Everything computes with exact values; nominal
camera values (1/800, f/6.3, ISO 3200) appear only where a person reads.
"""

from bisect import bisect_left, bisect_right

import numpy as np
from numpy.typing import ArrayLike

from lightplan.arrays import FloatArray

CALIBRATION_C = 250.0  # lx·s·ISO, ISO 2720:1974, common for a flat receptor

# Nominal third-stop values as engraved on cameras; sources beside the tests.
F_NUMBERS = (
    1.0, 1.1, 1.2, 1.4, 1.6, 1.8, 2.0, 2.2, 2.5, 2.8, 3.2, 3.5, 4.0, 4.5, 5.0, 5.6,
    6.3, 7.1, 8.0, 9.0, 10.0, 11.0, 13.0, 14.0, 16.0, 18.0, 20.0, 22.0, 25.0, 29.0, 32.0,
)  # fmt: skip
SHUTTER_DENOMINATORS = (
    30, 40, 50, 60, 80, 100, 125, 160, 200, 250, 320, 400, 500, 640, 800, 1000, 1250,
    1600, 2000, 2500, 3200, 4000, 5000, 6400, 8000, 10000, 12800, 16000, 20000, 25600, 32000,
)  # fmt: skip
FASTEST_S = 1 / 8000  # of mechanical shutters: common practice
ISO_SPEEDS = (
    50, 64, 80, 100, 125, 160, 200, 250, 320, 400, 500, 640, 800, 1000, 1250, 1600, 2000,
    2500, 3200, 4000, 5000, 6400, 8000, 10000, 12800, 16000, 20000, 25600, 32000, 40000,
    51200, 64000, 80000, 102400,
)  # fmt: skip


def ev100(illuminance_lux: ArrayLike) -> FloatArray:
    """Return the exposure value at ISO 100 that an illuminance calls for.

    Parameters
    ----------
    illuminance_lux : array_like, shape (...)
        Light falling on the subject. [lx] Must be ≥ 0; zero gives -inf.

    Returns
    -------
    ndarray, shape (...)
        EV₁₀₀ = log2(E · 100 / C). [stops]

    Raises
    ------
    ValueError
        If an illuminance is negative.

    References
    ----------
    .. [1] ISO 2720:1974, incident-light exposure equation.
    """
    lux = _not_negative(illuminance_lux, "illuminance_lux")
    with np.errstate(divide="ignore"):
        result: FloatArray = np.log2(lux * (100.0 / CALIBRATION_C))
    return result


def ev(f_number: ArrayLike, shutter_s: ArrayLike) -> FloatArray:
    """Return log2(N²/t), the exposure value of camera settings. [stops]

    ``f_number`` and ``shutter_s`` (seconds) broadcast and must be positive;
    otherwise ValueError.
    """
    n = _positive(f_number, "f_number")
    t = _positive(shutter_s, "shutter_s")
    result: FloatArray = np.log2(n**2 / t)
    return result


def iso_needed(
    illuminance_lux: ArrayLike, f_number: ArrayLike, shutter_s: ArrayLike
) -> FloatArray:
    """Return the ISO speed that exposes an illuminance correctly.

    Parameters
    ----------
    illuminance_lux : array_like, shape (...)
        Light falling on the subject. [lx] Zero gives inf.
    f_number, shutter_s : array_like, shape (...)
        Aperture and exposure time [s], both > 0. All three broadcast.

    Returns
    -------
    ndarray, shape (...)
        S = C·N² / (E·t), unrounded and unlimited. [ISO]

    Raises
    ------
    ValueError
        If ``f_number`` or ``shutter_s`` is not positive, or an illuminance is
        negative.

    References
    ----------
    .. [1] ISO 2720:1974, incident-light exposure equation.
    """
    n = _positive(f_number, "f_number")
    t = _positive(shutter_s, "shutter_s")
    lux = _not_negative(illuminance_lux, "illuminance_lux")
    with np.errstate(divide="ignore"):
        result: FloatArray = CALIBRATION_C * n**2 / (lux * t)
    return result


def stops_over(iso: ArrayLike, ceiling: ArrayLike) -> FloatArray:
    """Return by how much a needed ISO is above the highest one accepted. [stops]

    The one rule for whether an ISO is usable: at 0 and below it is. A billionth
    of slack keeps an ISO exactly at the ceiling usable whatever its last bit says.

    Parameters
    ----------
    iso, ceiling : array_like, shape (...)
        Positive; they broadcast. An ISO without light is infinite.

    Returns
    -------
    ndarray, shape (...)
        Compare it with the stops there are to spare, 0 for none.
    """
    result: FloatArray = np.log2(np.divide(iso, ceiling)) - 1e-9
    return result


def nominal_shutter_s(shutter_s: float) -> float:
    """Return the engraved shutter time that is as fast or just faster. [s]

    Beyond either end of the scale the end is returned.
    """
    # A hair of tolerance: 1/1250 must stay 1/1250 whatever its last bit says.
    wanted = 1.0 / _one_positive(shutter_s, "shutter_s")
    index = bisect_left(SHUTTER_DENOMINATORS, wanted * (1 - 1e-9))
    return 1.0 / SHUTTER_DENOMINATORS[min(index, len(SHUTTER_DENOMINATORS) - 1)]


def slowest_nominal_s(shutter_s: float) -> float:
    """Return the engraved shutter time that is as slow or just slower. [s]

    What a camera is set to that needs ``shutter_s`` at the least. Beyond either end
    of the scale the end is returned.
    """
    most = 1.0 / _one_positive(shutter_s, "shutter_s")
    index = bisect_right(SHUTTER_DENOMINATORS, most * (1 + 1e-9)) - 1
    return 1.0 / SHUTTER_DENOMINATORS[max(index, 0)]


def nominal_iso(iso: float) -> int:
    """Return the third-stop ISO speed that is as sensitive or just more so.

    Beyond either end of the scale the end is returned.
    """
    index = bisect_left(ISO_SPEEDS, _one_positive(iso, "iso") * (1 - 1e-9))
    return ISO_SPEEDS[min(index, len(ISO_SPEEDS) - 1)]


def shutter_text(shutter_s: float) -> str:
    """Write a shutter time as photographers do: ``1/1250 s``."""
    return f"1/{1.0 / shutter_s:.0f} s" if shutter_s < 0.4 else f"{shutter_s:g} s"


def f_number_text(f_number: float) -> str:
    """Write an aperture as photographers do: ``f/6.3``, ``f/11``."""
    return f"f/{f_number:.1f}".removesuffix(".0")


def iso_text(iso: float) -> str:
    """Write a needed ISO as the third-stop setting that is enough: ``ISO 3200``."""
    if not iso <= ISO_SPEEDS[-1] * (1 + 1e-9):
        return f"over ISO {ISO_SPEEDS[-1]}"
    return f"ISO {nominal_iso(iso)}"


def iso_limit_text(iso: float, typed: bool = True) -> str:
    """Write the highest ISO accepted: as typed, or the third-stop setting below."""
    if typed:
        return f"ISO {iso:.7g}"
    if iso > ISO_SPEEDS[-1]:
        return f"over ISO {ISO_SPEEDS[-1]}"
    if iso < ISO_SPEEDS[0]:
        return f"under ISO {ISO_SPEEDS[0]}"
    return f"ISO {ISO_SPEEDS[bisect_right(ISO_SPEEDS, iso * (1 + 1e-9)) - 1]}"


def from_base(iso: float, shutter_s: float, base_iso: float) -> tuple[float, float]:
    """Return the ISO and shutter [s] that a camera is set to for a needed ISO.

    Below its base ISO the shutter gets faster instead, by the same stops.
    """
    if iso >= base_iso:
        return iso, shutter_s
    return base_iso, shutter_s * iso / base_iso


def _not_negative(value: ArrayLike, name: str) -> FloatArray:
    array = np.asarray(value, dtype=np.float64)
    if (array < 0).any():
        raise ValueError(f"{name} must be 0 or more, got {float(array.min()):g}")
    return array


def _positive(value: ArrayLike, name: str) -> FloatArray:
    array = np.asarray(value, dtype=np.float64)
    if not (array > 0).all():
        wrong = float(array[~(array > 0)].flat[0])
        raise ValueError(f"{name} must be greater than 0, got {wrong:g}")
    return array


def _one_positive(value: float, name: str) -> float:
    # A page writes thousands of numbers; an array for each would take most of the time.
    if not value > 0:
        raise ValueError(f"{name} must be greater than 0, got {value:g}")
    return float(value)
