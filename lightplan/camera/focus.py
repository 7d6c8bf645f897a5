"""What is sharp before and behind the animal, and how far the background melts.

Thin lens with a symmetric pupil; distances run from the lens. A circle of confusion
says how large a point may be drawn and still pass for one.
"""

from math import inf

# The circle is the sensor's diagonal by 1500, 0.029 mm on 24 × 36: common practice,
# for a whole picture looked at, not for feathers at 100 %.
CIRCLES_A_DIAGONAL = 1500
BACKGROUND_M = 10.0  # how far behind the animal the background is taken. Judgement.


def magnification(focal_mm: float, distance_m: float) -> float:
    """Return the size of an image over that of the thing: f/(s − f).

    Parameters
    ----------
    focal_mm : float
        Focal length. [mm]
    distance_m : float
        Of the thing from the lens. [m]

    Raises
    ------
    ValueError
        If the focal length is not positive, or the distance not beyond it.
    """
    if not 0 < focal_mm < 1000 * distance_m:  # refuses NaN too
        raise ValueError(
            "distance must be more than the focal length, which must be more than "
            f"0 mm, got {distance_m:g} m and {focal_mm:g} mm"
        )
    return focal_mm / (1000 * distance_m - focal_mm)


def depth_of_field_m(
    focal_mm: float, f_number: float, distance_m: float, circle_mm: float
) -> tuple[float, float]:
    """Return from where to where things are sharp.

    Parameters
    ----------
    focal_mm : float
        Focal length. [mm]
    f_number : float
        Aperture.
    distance_m : float
        Distance in focus, from the lens. [m]
    circle_mm : float
        Circle of confusion. [mm]

    Returns
    -------
    (float, float)
        Nearest and farthest sharp distance, the farthest infinite from the
        hyperfocal distance H = f²/(N·c) + f on. [m]

    Raises
    ------
    ValueError
        If a value is not positive, or the distance within the focal length.

    References
    ----------
    .. [1] S. F. Ray, *Applied Photographic Optics*: near = s(H − f)/(H + s − 2f),
       far = s(H − f)/(H − s).
    """
    magnification(focal_mm, distance_m)
    if not (f_number > 0 and circle_mm > 0):
        raise ValueError(
            "f-number and circle of confusion must be more than 0, got "
            f"{f_number:g} and {circle_mm:g} mm"
        )
    f = focal_mm / 1000
    s = distance_m
    hyperfocal = focal_mm**2 / (f_number * circle_mm) / 1000 + f
    near = s * (hyperfocal - f) / (hyperfocal + s - 2 * f)
    far = s * (hyperfocal - f) / (hyperfocal - s) if s < hyperfocal else inf
    return near, far


def f_number_for(
    near_m: float, far_m: float, focal_mm: float, circle_mm: float
) -> float:
    """Return the f-number at which two animals are both just sharp.

    Parameters
    ----------
    near_m, far_m : float
        Their distances. [m] The focus lies between, at 2/(1/near + 1/far).
    focal_mm, circle_mm : float
        Focal length and circle of confusion. [mm]

    Raises
    ------
    ValueError
        If the distances are not in order, or within the focal length.
    """
    magnification(focal_mm, near_m)
    if not near_m <= far_m < inf:
        raise ValueError(
            f"the farther animal must be at {near_m:g} m or more, got {far_m:g} m"
        )
    # Behind the lens the two are sharp at v = f·s/(s − f), and a point out of focus
    # draws a circle of (f/N)·|v − v₀|/v.
    behind = [1 / (1 / focal_mm - 1 / (1000 * s)) for s in (near_m, far_m)]
    return focal_mm * (behind[0] - behind[1]) / (circle_mm * sum(behind))


def background_blur_mm(
    focal_mm: float,
    f_number: float,
    distance_m: float,
    behind_m: float = BACKGROUND_M,
) -> float:
    """Return the circle that a point behind the animal is drawn as. [mm].

    Parameters
    ----------
    focal_mm, f_number, distance_m : float
        As for `depth_of_field_m`.
    behind_m : float
        How far behind the animal the point is. [m]

    Returns
    -------
    float
        On the sensor: (f²/N)·D/((s + D)(s − f)).
    """
    spread_mm = focal_mm / f_number * magnification(focal_mm, distance_m)
    return spread_mm * behind_m / (distance_m + behind_m)


def circle_mm(sensor_mm: tuple[float, float], share_used: float = 1.0) -> float:
    """Return the circle of confusion of a sensor, less where it is cropped. [mm].

    ``share_used`` is the share of its area that the picture keeps: a crop is
    enlarged more.
    """
    width, height = sensor_mm
    diagonal = (width**2 + height**2) ** 0.5
    return float(diagonal / CIRCLES_A_DIAGONAL * share_used**0.5)
