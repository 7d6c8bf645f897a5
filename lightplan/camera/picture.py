"""The animal in the picture: its size in the frame, its pixels, its light.

Lens and sensor together decide how large an animal is; the entrance pupil, focal
length by f-number, decides how much of its light is gathered. Thin lens, distances
from the lens: an animal at distance s appears f/(s − f) of its size on the sensor.
A long lens is shorter than engraved when it focuses close, so that nearer than some
twenty focal lengths all sizes here are a little too large.
"""

from collections.abc import Sequence
from math import log2

from lightplan.camera import focus

FILLED = 0.6  # of the frame: a plain portrait with room around it. Judgement.


def light_stops(focal_a_mm: float, n_a: float, focal_b_mm: float, n_b: float) -> float:
    """Return the stops that lens b gathers over lens a from the same animal.

    Parameters
    ----------
    focal_a_mm, focal_b_mm : float
        Focal lengths. [mm]
    n_a, n_b : float
        f-numbers.

    Returns
    -------
    float
        At one shutter, with the picture cropped to one framing: what the animal's
        image gets goes with the area of the entrance pupil, whatever the sensor.
        [stops]

    Raises
    ------
    ValueError
        If a value is not positive.

    References
    ----------
    .. [1] S. F. Ray, *Applied Photographic Optics*: entrance pupil = f/N.
    """
    _positive("focal length in mm", focal_a_mm, focal_b_mm)
    _positive("f-number", n_a, n_b)
    return 2 * log2((focal_b_mm / n_b) / (focal_a_mm / n_a))


def pixels_on(
    length_m: float, distance_m: float, focal_mm: float, pixel_pitch_mm: float
) -> float:
    """Return how many pixels a length across the view covers.

    Parameters
    ----------
    length_m, distance_m : float
        Of the animal, or its head, and of the camera from it. [m]
    focal_mm : float
        Focal length, converter included. [mm]
    pixel_pitch_mm : float
        Side of one pixel. [mm]

    Raises
    ------
    ValueError
        If a value is not positive, or the distance within the focal length.
    """
    _positive("length in m", length_m)
    _positive("pixel pitch in mm", pixel_pitch_mm)
    on_sensor_mm = 1000 * length_m * focus.magnification(focal_mm, distance_m)
    return on_sensor_mm / pixel_pitch_mm


def frame_filled(
    size_m: tuple[float, float],
    distance_m: float,
    focal_mm: float,
    sensor_mm: tuple[float, float],
) -> float:
    """Return the share of the frame that an animal fills, along the tighter side.

    Parameters
    ----------
    size_m : (float, float)
        Width and height of the animal. [m]
    distance_m : float
        Of the camera from it. [m]
    focal_mm : float
        Focal length, converter included. [mm]
    sensor_mm : (float, float)
        Width and height of the sensor. [mm]

    Returns
    -------
    float
        Of the frame's width or height, whichever is filled more; above 1 it does
        not fit.
    """
    scale = 1000 * focus.magnification(focal_mm, distance_m)
    return max(scale * a / b for a, b in zip(size_m, sensor_mm, strict=True))


def distance_filling_m(
    share: float,
    size_m: tuple[float, float],
    focal_mm: float,
    sensor_mm: tuple[float, float],
) -> float:
    """Return how far an animal is that fills a share of the frame. [m].

    The other way round from `frame_filled`, with the same arguments.
    """
    _positive("share of the frame", share)
    _positive("focal length in mm", focal_mm)
    return max(
        focal_mm / 1000 + size * focal_mm / (share * side)
        for size, side in zip(size_m, sensor_mm, strict=True)
    )


def shares_used(views: Sequence[tuple[float, tuple[float, float]]]) -> list[float]:
    """Return the share of each frame's area that is left at one framing.

    Parameters
    ----------
    views : sequence of (focal_mm, (width_mm, height_mm))
        Focal length and sensor of every rig. [mm]

    Returns
    -------
    list of float
        With every picture cropped to the narrowest angle of view among them, by
        area: 1 for the rig that sees least, 1/4 for one of half its focal length.
    """
    reach = [focal**2 / (width * height) for focal, (width, height) in views]
    return [one / max(reach) for one in reach]


def _positive(what: str, *values: float) -> None:
    for value in values:
        if not value > 0:  # refuses NaN too
            raise ValueError(f"{what} must be more than 0, got {value:g}")
