"""The sun's beam and the light of a clear sky by wavelength: SPCTRAL2.

Bird & Riordan's simple spectral model (1986), from 360 to 800 nm, summed with the
CIE 1931 observer to X, Y, Z of which Y is in lux. Below about 5° the model, which
takes the air for a flat layer, has too bright a beam and too dark a sky;
`daylight` gives the aerosol an airmass of its own and mends the sky by `low_sky`.

References
----------
.. [1] Bird & Riordan, J. Climate Appl. Meteor. 25 (1986) 87-97; coefficients and
   constants as in NREL's spectrl2_2.c, rural aerosol.
.. [2] CIE 015:2018, 2° observer of 1931.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from lightplan.arrays import FloatArray

OZONE_ATM_CM, WATER_CM, GROUND_REFLECTANCE = 0.31, 1.4, 0.2
ANGSTROM = 1.14  # how fast the aerosol's depth falls with wavelength

# Wavelength [nm]; sunlight above the air [W/(m2 nm)]; absorption by water, ozone and
# the mixed gases; and what each wavelength counts in X, Y and Z [lm/W nm]: the
# observer's functions, integrated over the straight lines between the wavelengths.
_TABLE = np.array(
    [
        [360, 0.9759, 0, 0, 0, 0.721355, 0.0216666, 3.37278],
        [370, 1.1199, 0, 0, 0, 3.17448, 0.094368, 14.9024],
        [380, 1.1038, 0, 0, 0, 10.0074, 0.28716, 47.1827],
        [390, 1.0338, 0, 0, 0, 32.3939, 0.917461, 153.181],
        [400, 1.4791, 0, 0, 0, 103.981, 2.88552, 493.469],
        [410, 1.7013, 0, 0, 0, 328.996, 9.20269, 1570.37],
        [420, 1.7404, 0, 0, 0, 967.177, 30.5321, 4658.88],
        [430, 1.5872, 0, 0, 0, 1884.75, 81.3494, 9221.87],
        [440, 1.8370, 0, 0, 0, 2334.05, 158.651, 11734.6],
        [450, 2.0050, 0, 0.003, 0, 2282.37, 263.594, 12057.9],
        [460, 2.0430, 0, 0.006, 0, 1958.9, 414.229, 11248],
        [470, 1.9870, 0, 0.009, 0, 1338.16, 631.552, 8773.7],
        [480, 2.0270, 0, 0.014, 0, 673.121, 958.817, 5624.74],
        [490, 1.8960, 0, 0.021, 0, 238.361, 1447.28, 3265.35],
        [500, 1.9090, 0, 0.03, 0, 50.1485, 2249.21, 1905.53],
        [510, 1.9270, 0, 0.04, 0, 92.4057, 3455.7, 1097.84],
        [520, 1.8310, 0, 0.048, 0, 459.577, 4809.53, 561.924],
        [530, 1.8910, 0, 0.063, 0, 1140.76, 5852.1, 294.478],
        [540, 1.8980, 0, 0.075, 0, 1993.88, 6486.92, 144.591],
        [550, 1.8920, 0, 0.085, 0, 5003.17, 10158.8, 77.6145],
        [570, 1.8400, 0, 0.12, 0, 11333.6, 13667.5, 36.2261],
        [593, 1.7680, 0.075, 0.119, 0, 13780, 10116.3, 15.6154],
        [610, 1.7280, 0, 0.12, 0, 12219.3, 6219.08, 5.07279],
        [630, 1.6580, 0, 0.09, 0, 9579.56, 4018.04, 1.11161],
        [656, 1.5240, 0, 0.065, 0, 3605.35, 1375.21, 0.0692963],
        [667.6, 1.5310, 0, 0.051, 0, 1035.53, 379.961, 0],
        [690, 1.4200, 0.016, 0.028, 0.15, 418.178, 151.779, 0],
        [710, 1.3990, 0.0125, 0.018, 0, 78.5859, 28.382, 0],
        [718, 1.3740, 1.8, 0.015, 0, 17.3952, 6.28174, 0],
        [724.4, 1.3730, 2.5, 0.012, 0, 13.5345, 4.88754, 0],
        [740, 1.2980, 0.061, 0.01, 0, 7.82696, 2.82646, 0],
        [752.5, 1.2690, 0.0008, 0.008, 0, 2.05992, 0.743874, 0],
        [757.5, 1.2450, 0.0001, 0.007, 0, 0.681484, 0.246096, 0],
        [762.5, 1.2230, 1e-05, 0.006, 4, 0.481902, 0.174024, 0],
        [767.5, 1.2050, 1e-05, 0.005, 0.35, 0.511946, 0.184873, 0],
        [780, 1.1830, 0.0006, 0, 0, 0.429726, 0.155182, 0],
        [800, 1.1480, 0.036, 0, 0, 0.158171, 0.0571183, 0],
    ]
)
_NM, _OUTSIDE, _WATER, _OZONE, _MIXED = _TABLE[:, :5].T
_OBSERVER = _TABLE[:, 5:]
# Between ozone and the ground lie 22 km; its airmass stays finite at the horizon.
_OZONE_HEIGHT = 22 / 6370
_ASYMMETRY = 0.65
_SCATTERED = 0.945 * np.exp(-0.095 * np.log(_NM / 400) ** 2)
_SKY_GROUND_AIRMASS = 1.8


class Spectral(NamedTuple):
    """X, Y, Z of the beam, normal to it, and of the sky on level ground. [lx]

    Both of shape (..., 3).
    """

    beam: FloatArray
    sky: FloatArray


def clear(
    altitude_deg: ArrayLike,
    airmass: ArrayLike,
    aerosol_airmass: ArrayLike,
    aod500: float,
) -> Spectral:
    """Return beam and sky of a cloudless day at the sun's mean distance.

    Parameters
    ----------
    altitude_deg : array_like, shape (...)
        Apparent altitude of the sun. [°]
    airmass, aerosol_airmass : array_like, shape (...)
        Relative airmass, and that of the aerosol in the beam. The model itself has
        one for both.
    aod500 : float
        The aerosol's optical depth at 500 nm, towards the zenith.

    Returns
    -------
    Spectral
        Arrays of shape (..., 3). [lx]
    """
    m, haze = (np.asarray(a, np.float64)[..., None] for a in (airmass, aerosol_airmass))
    sine = np.sin(np.radians(np.asarray(altitude_deg, np.float64)))[..., None]
    tau = aod500 * (_NM / 500) ** -ANGSTROM
    ozone = (1 + _OZONE_HEIGHT) / np.sqrt(sine**2 + 2 * _OZONE_HEIGHT)
    gases = np.exp(-_OZONE * OZONE_ATM_CM * ozone) * _absorbed(m)
    light = _OUTSIDE * gases
    beam = light * _rayleigh(m) * np.exp(-tau * haze)

    # Scattered down by the air, by the aerosol, and to and fro with the ground.
    kept = np.exp(-(1 - _SCATTERED) * tau * m)
    air = (1 - _rayleigh(m) ** 0.95) / 2
    dust = _rayleigh(m) ** 1.5 * (1 - np.exp(-_SCATTERED * tau * m))
    dust = dust * _forward(sine)
    once = light * sine * kept * (air + dust)
    returned = GROUND_REFLECTANCE * _sky_reflectance(tau)
    again = (light * _rayleigh(m) * np.exp(-tau * m) * sine + once) * (
        returned / (1 - returned)
    )
    blue = np.where(_NM <= 450, ((_NM + 550) / 1000) ** 1.8, 1.0)
    return Spectral(beam @ _OBSERVER, ((once + again) * blue) @ _OBSERVER)


def _rayleigh(m: ArrayLike) -> FloatArray:
    um = _NM / 1000
    result: FloatArray = np.exp(-np.asarray(m) / (um**4 * (115.6406 - 1.335 / um**2)))
    return result


def _absorbed(m: ArrayLike) -> FloatArray:
    """Return what water vapour and the mixed gases let through."""
    airmass = np.asarray(m)
    wet = _WATER * WATER_CM * airmass
    mixed = _MIXED * airmass
    water: FloatArray = np.exp(-0.2385 * wet / (1 + 20.07 * wet) ** 0.45)
    gas: FloatArray = np.exp(-1.41 * mixed / (1 + 118.3 * mixed) ** 0.45)
    return water * gas


def _forward(sine: ArrayLike) -> FloatArray:
    """Return the share of the light scattered by aerosol that goes down."""
    log = np.log(1 - _ASYMMETRY)
    a = log * (1.459 + log * (0.1595 + log * 0.4129))
    b = log * (0.0783 + log * (-0.3824 - log * 0.5874))
    s = np.asarray(sine)
    result: FloatArray = 1 - 0.5 * np.exp((a + b * s) * s)
    return result


def _sky_reflectance(tau: FloatArray) -> FloatArray:
    m = np.array(_SKY_GROUND_AIRMASS)
    rayleigh = _rayleigh(m)
    dust = np.exp(-_SCATTERED * tau * m)
    kept = np.exp(-(1 - _SCATTERED) * tau * m)
    up = 1 - _forward(np.array(1 / _SKY_GROUND_AIRMASS))
    result: FloatArray = (
        _absorbed(m) * kept * ((1 - rayleigh) / 2 + up * rayleigh * (1 - dust))
    )
    return result
