"""Which share of frames is sharp: the hand's shake, its rest, the animal's motion.

The camera turns while the shutter is open, up and down and from side to side, each
at a speed that is Gaussian from frame to frame and steady within one. An exposure
shorter than about 1/60 s sees a straight piece of the tremor, so blur grows with
time; beyond that it grows more slowly and this model is on the safe side.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from lightplan import errors
from lightplan.arrays import FloatArray

# Of free hands, each axis; judgement within the 0.5 to 3 °/s that are measured.
HAND_DEG_S = 1.0
# A rest and a stabiliser do not add up: the weaker one adds a quarter of its stops,
# and nothing beyond five in all. Judgement.
_WEAKER_COUNTS, _MOST_TOGETHER = 0.25, 5.0

# Directions between the axes, for a mean over a quarter turn. The integrand is smooth
# and periodic, so the trapezium rule is right to the last digits a share needs.
_TURN_POINTS = 256


class Hold(NamedTuple):
    """A way to hold the lens, and the stops it takes off free hands.

    Common practice without measurements behind it: judgement. ``phrase`` follows
    "lens" in a sentence.
    """

    key: str
    label: str
    stops: float
    phrase: str


HOLDS = {
    hold.key: hold
    for hold in (
        Hold("hand", "by hand", 0.0, "by hand"),
        Hold("beanbag", "beanbag or door", 3.5, "on a beanbag or door"),
        Hold("braced", "braced", 1.0, "braced"),
        Hold("gimbal", "gimbal", 4.5, "on a gimbal"),
    )
}


def hold_named(key: str) -> Hold:
    """Return a hold; ValueError with the choices if there is none of that key."""
    if key not in HOLDS:
        raise ValueError(errors.one_of("hold", key, HOLDS))
    return HOLDS[key]


def steadier_stops(hold: str, stabiliser_stops: float = 0.0) -> float:
    """Return by how much a rest and a stabiliser together calm free hands. [stops]

    By hand the stabiliser counts in full; each stop halves the blur.

    Raises
    ------
    ValueError
        If the hold is unknown or ``stabiliser_stops`` is not 0 to 8.
    """
    if not 0 <= stabiliser_stops <= 8:
        raise ValueError(
            f"stabiliser must be 0 to 8 stops, got {stabiliser_stops:g} stops"
        )
    weaker, stronger = sorted((hold_named(hold).stops, stabiliser_stops))
    together = min(stronger + _WEAKER_COUNTS * weaker, _MOST_TOGETHER)
    return max(stronger, together)


def sharp_share(
    shutter_s: ArrayLike,
    focal_mm: float,
    pixel_pitch_mm: float,
    blur_px: float,
    hold: str = "hand",
    stabiliser_stops: float = 0.0,
    speed_m_s: float = 0.0,
    distance_m: float = 30.0,
) -> FloatArray:
    """Return the share of frames in which nothing smears further than allowed.

    Parameters
    ----------
    shutter_s : array_like, shape (...)
        Exposure time. [s]
    focal_mm, pixel_pitch_mm : float
        Focal length and side of a pixel. [mm]
    blur_px : float
        Blur allowed. [pixels]
    hold : str
        A key of `HOLDS`.
    stabiliser_stops : float
        As rated, 0 to 8; it does nothing against the animal's motion. [stops]
    speed_m_s : float
        Of the animal across the frame, beyond what following takes out: the standard
        deviation of a Gaussian, along one axis. [m/s]
    distance_m : float
        To the animal. [m]

    Returns
    -------
    ndarray, shape (...)
        0 to 1.

    Raises
    ------
    ValueError
        If the hold is unknown or a quantity is out of range.

    Notes
    -----
    Two independent Gaussian axes of standard deviation s make Rayleigh's
    distribution, P(b ≤ k) = 1 − exp(−k²/2s²). With the animal's m along one axis,
    P(b > k) is the mean of exp(−k²/2(s² + m² cos² φ)) over all directions φ.
    """
    times = np.asarray(shutter_s, dtype=np.float64)
    lengths = (float(times.min(initial=np.inf)), focal_mm, pixel_pitch_mm, blur_px)
    # `not … all` refuses NaN too.
    if not (all(x > 0 for x in (*lengths, distance_m)) and speed_m_s >= 0):
        raise ValueError(
            "shutter, focal length, pixel, blur and distance must be greater than 0 "
            f"and speed at least 0, got {lengths[0]:g} s, {focal_mm:g} mm, "
            f"{pixel_pitch_mm:g} mm, {blur_px:g} px, {distance_m:g} m, {speed_m_s:g} m/s"
        )
    calm = 2.0 ** -steadier_stops(hold, stabiliser_stops)
    shake_px_s = np.radians(HAND_DEG_S) * calm * focal_mm / pixel_pitch_mm
    motion_px_s = speed_m_s * focal_mm / (distance_m * pixel_pitch_mm)
    if motion_px_s == 0:
        return _within(blur_px / (times * shake_px_s))
    turn = np.linspace(0.0, np.pi / 2, _TURN_POINTS + 1)
    speeds = np.hypot(shake_px_s, motion_px_s * np.cos(turn))
    weights = np.full(turn.shape, 1.0 / _TURN_POINTS)
    weights[[0, -1]] /= 2
    result: FloatArray = _within(blur_px / (times[..., None] * speeds)) @ weights
    return result


def _within(allowed: FloatArray) -> FloatArray:
    """Return Rayleigh's share within a length given in standard deviations."""
    with np.errstate(over="ignore"):  # of a length so great that all is within
        result: FloatArray = -np.expm1(-(allowed**2) / 2)
    return result
