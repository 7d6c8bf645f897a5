"""What must hold of exposure for any light and any settings."""

import numpy as np
import pytest
import wild
from hypothesis import given
from hypothesis import strategies as st

from lightplan.camera.exposure import (
    ISO_SPEEDS,
    SHUTTER_DENOMINATORS,
    ev,
    ev100,
    iso_needed,
    iso_text,
    nominal_iso,
    nominal_shutter_s,
)

# Same examples on every run, and no clock: a slow machine is not a wrong answer.
EXPOSURE = wild.cases(150)
ROUNDING = 1e-12
LAST_BIT = 1e-8  # the hair by which an engraved value may seem not enough

lights = st.floats(1e-4, 2e5)
f_numbers = st.floats(0.7, 64.0)
times = st.floats(1 / 32_000, 30.0)


@EXPOSURE
@given(lights, f_numbers, times)
def test_twice_the_light_halves_the_iso_exactly(lux, n, t):
    assert iso_needed(2 * lux, n, t) == iso_needed(lux, n, t) / 2


@EXPOSURE
@given(lights, f_numbers, times)
def test_half_the_time_doubles_the_iso_exactly(lux, n, t):
    assert iso_needed(lux, n, t / 2) == 2 * iso_needed(lux, n, t)


@EXPOSURE
@given(lights, f_numbers, times)
def test_one_stop_of_aperture_doubles_the_iso(lux, n, t):
    # √2 has no exact binary value: to rounding.
    more = iso_needed(lux, n * np.sqrt(2), t)
    assert more == pytest.approx(2 * iso_needed(lux, n, t), rel=ROUNDING)


@EXPOSURE
@given(lights)
def test_twice_the_light_is_one_ev(lux):
    assert ev100(2 * lux) - ev100(lux) == pytest.approx(1, abs=ROUNDING * 32)


@EXPOSURE
@given(lights, f_numbers, times)
def test_iso_is_the_stops_between_settings_and_light(lux, n, t):
    # EV_S = EV₁₀₀ + log2(S / 100), Ray 2000.
    iso = iso_needed(lux, n, t)
    assert np.log2(iso / 100) == pytest.approx(ev(n, t) - ev100(lux), abs=1e-9)


@EXPOSURE
@given(st.floats(1 / 32_000, 1 / 30))
def test_an_engraved_time_is_as_fast_or_the_next_faster(wanted):
    chosen = nominal_shutter_s(wanted)
    assert chosen <= wanted * (1 + LAST_BIT)
    slower = [1 / d for d in SHUTTER_DENOMINATORS if 1 / d > chosen]
    assert all(s > wanted * (1 - LAST_BIT) for s in slower)


@EXPOSURE
@given(st.floats(50, 102_400))
def test_an_engraved_iso_is_enough_and_the_one_below_is_not(needed):
    chosen = nominal_iso(needed)
    assert chosen >= needed * (1 - LAST_BIT)
    assert all(s < needed * (1 + LAST_BIT) for s in ISO_SPEEDS if s < chosen)
    assert iso_text(needed) == f"ISO {chosen}"


def test_light_settings_and_iso_broadcast():
    table = iso_needed(np.array([[10.0], [20.0]]), np.array([2.8, 4.0, 8.0]), 0.01)
    assert table.shape == (2, 3)
    assert table[1, 0] == iso_needed(20.0, 2.8, 0.01)


def test_missing_light_is_a_missing_exposure():
    assert np.isnan(ev100(np.nan))
    assert np.isnan(iso_needed(np.nan, 4.0, 0.01))
