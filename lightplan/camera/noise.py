"""How clean a picture is: photons, shot noise, and the ISO up to which it holds.

A mid-tone at ISO S gets H = 10/S lux-seconds (ISO 12232). Photons come at random:
of e counted, the root of e is noise, so that S/N = √e. What the electronics add is
lost beside it in a mid-tone; it eats the shadows. ISO 12232 calls S/N 40 excellent
and 10 acceptable; noise reduction moves either by 1 to 3 stops, so that differences
between rigs are sure and the limits themselves are a convention.
"""

from typing import NamedTuple

from lightplan import errors

MID_TONE_LX_S = 10.0  # H·S of a mid-tone, ISO 12232
# Photons that a lux-second of daylight brings to a square micrometre between 400
# and 700 nm: ∫S·λ dλ/(h·c) over K_m·∫S·V dλ, with D55 (CIE 15) for S, V of 1924,
# and h, c, K_m of the SI (CODATA). The colour of daylight changes it by 3 %, other
# limits of the band by 30 %. A test works it out again.
PHOTONS_LX_S_UM2 = 10_753.0
# Share of these photons that a photosite counts under its colour filter. Judgement:
# 0.15 to 0.25, from memory.
EFFICIENCY = 0.2
CLEAN_SNR, USABLE_SNR = 40.0, 10.0  # ISO 12232:2019, "excellent" and "acceptable"


class Band(NamedTuple):
    """A range of ISO by how the picture looks, from ``snr`` up.

    The middle one is called what ISO 12232 calls it, because people call a minute
    usable that is within the ceiling.
    """

    key: str
    label: str
    snr: float


BANDS = (
    Band("clean", "clean", CLEAN_SNR),
    Band("usable", "acceptable", USABLE_SNR),
    Band("record", "record shot", 0.0),
)


class Output(NamedTuple):
    """What a picture is for: ``width_px`` along its longer side, at 3:2.

    None is the file as it is, every pixel looked at. One shape for all sensors, so
    that a squarer one is not counted as spreading its light over more paper.
    """

    key: str
    label: str
    phrase: str  # after "for"
    width_px: float | None

    @property
    def pixels(self) -> float | None:
        """How many pixels it has, None for as many as the file."""
        return None if self.width_px is None else self.width_px**2 * 2 / 3


OUTPUTS = {
    output.key: output
    for output in (
        Output("web", "web, 2048 px", "the web at 2048 px", 2048.0),
        # 42 cm at the 70 px per cm for which ISO 12232 sets its limits.
        Output("a3", "A3 print", "an A3 print", 42 * 70.0),
        Output("file", "full file", "the full file", None),
    )
}
# The print, because the standard's limits are for prints of that pitch; a screen
# forgives more, and few look at every pixel.
USUAL_OUTPUT = "a3"


def output_named(key: str) -> Output:
    """Return the output of that key; ValueError names the known ones."""
    if key not in OUTPUTS:
        raise ValueError(errors.one_of("output", key, OUTPUTS))
    return OUTPUTS[key]


def iso_at(snr: float, pixel_um2: float) -> float:
    """Return the ISO at which a mid-tone has a signal-to-noise ratio. [ISO].

    Parameters
    ----------
    snr : float
        Signal over noise, by shot noise alone.
    pixel_um2 : float
        Area of sensor behind one pixel of the picture as it is looked at. [µm²]

    Raises
    ------
    ValueError
        If a value is not positive.

    References
    ----------
    .. [1] ISO 12232:2019, noise-based speeds.
    """
    if not (snr > 0 and pixel_um2 > 0):  # refuses NaN too
        raise ValueError(
            "signal-to-noise ratio and area of a pixel must be more than 0, got "
            f"{snr:g} and {pixel_um2:g} µm²"
        )
    return MID_TONE_LX_S * PHOTONS_LX_S_UM2 * EFFICIENCY * pixel_um2 / snr**2


def output_pixel_um2(
    output: str, sensor_mm: tuple[float, float], megapixels: float, share_used: float
) -> float:
    """Return the area of sensor behind one pixel of the output. [µm²].

    Parameters
    ----------
    output : str
        A key of `OUTPUTS`.
    sensor_mm : (float, float)
        Width and height of the sensor. [mm]
    megapixels : float
        Of the whole sensor.
    share_used : float
        Share of its area that the picture keeps, 0 to 1.

    Returns
    -------
    float
        A crop spreads fewer photons over as many pixels of web or print; every
        pixel of the file itself stays as it was.
    """
    pixels = output_named(output).pixels
    area_um2 = sensor_mm[0] * sensor_mm[1] * 1e6
    if pixels is None:
        return area_um2 / (megapixels * 1e6)
    return area_um2 * share_used / pixels
