"""Time a year of minutes of sun: ours, pvlib's NumPy SPA, astral in a loop.

Run by hand: ``python tests/bench/bench_sun.py``. The three take turns in one
process, so that a busy machine slows them alike; each figure is the median of the
rounds. astral takes one instant at a time: it gets an even sample, scaled up.
"""

import datetime as dt
import statistics
import sys
import time

import astral
import astral.sun
import numpy as np
import pvlib
from pvlib import spa

import lightplan
from lightplan import sun

LATITUDE_DEG, LONGITUDE_DEG = -13.1, 31.8
MINUTES = np.arange("2027-01-01", "2028-01-01", dtype="datetime64[m]")
SAMPLE_STEP = 53  # about ten thousand instants, at all hours
ROUNDS = 5


def ours():
    position = sun.position(MINUTES, LATITUDE_DEG, LONGITUDE_DEG)
    return position.altitude_deg, position.azimuth_deg


def pvlib_spa():
    seconds = MINUTES.astype("datetime64[s]").astype(np.float64)
    *_, altitude, azimuth, _ = spa.solar_position_numpy(
        seconds,
        LATITUDE_DEG,
        LONGITUDE_DEG,
        elev=0.0,
        pressure=1013.25,
        temp=12.0,
        delta_t=72.0,
        atmos_refract=0.5667,
        numthreads=1,
    )
    return altitude, azimuth


MOMENTS = [m.replace(tzinfo=dt.UTC) for m in MINUTES[::SAMPLE_STEP].tolist()]


def astral_loop():
    observer = astral.Observer(LATITUDE_DEG, LONGITUDE_DEG)
    pairs = [
        astral.sun.zenith_and_azimuth(observer, moment, with_refraction=False)
        for moment in MOMENTS
    ]
    zenith, azimuth = np.transpose(pairs)
    return 90.0 - zenith, azimuth


def timed(function):
    start = time.perf_counter()
    function()
    return time.perf_counter() - start


def main():
    # Name, function, which minutes it answers.
    contestants = [
        (f"lightplan {lightplan.__version__}", ours, slice(None)),
        (f"pvlib {pvlib.__version__}, NumPy SPA", pvlib_spa, slice(None)),
        ("astral in a loop, scaled", astral_loop, slice(None, None, SAMPLE_STEP)),
    ]
    reference, _ = ours()  # also warms up
    seconds = {name: [] for name, _, _ in contestants}
    apart = {}
    for name, function, part in contestants:
        altitude, _ = function()
        apart[name] = np.abs(altitude - reference[part]).max()
    for _ in range(ROUNDS):
        for name, function, part in contestants:
            share = reference[part].size / reference.size
            seconds[name].append(timed(function) / share)
    median = {name: statistics.median(runs) for name, runs in seconds.items()}
    fastest = median[contestants[0][0]]
    versions = f"Python {sys.version.split()[0]}, NumPy {np.__version__}"
    print(f"{MINUTES.size:,} instants at one place, median of {ROUNDS} ({versions})\n")
    print(f"{'':32}{'seconds':>10}{'spread':>18}{'ratio':>9}{'altitude':>12}")
    for name, runs in seconds.items():
        spread = f"{min(runs):.3f}-{max(runs):.3f}"
        ratio = median[name] / fastest
        print(
            f"{name:32}{median[name]:10.3f}{spread:>18}{ratio:8.0f}x{apart[name]:11.4f}°"
        )
    print("\naltitude: the largest difference from ours")


if __name__ == "__main__":
    main()
