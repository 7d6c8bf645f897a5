"""Exposure against ISO 2720, tabulated EV and the scales cameras carry."""

from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest

from lightplan.camera import exposure

# The EV table gives four decimals.
EV_ROUNDING = 5.1e-5
# Engraved numbers stand for exact ones: f/11 is 0.16 EV short of 11.31, 1/60 is
# 0.09 EV from 1/64; the integer EV of a table belongs to the exact ones.
ENGRAVED_EV = 0.18


def seconds(nominal: str) -> float:
    return float(Fraction(nominal))


def third_stops(rows, series):
    """The nominal third-stop series of one quantity, as engraved."""
    table = rows("exposure_nominal_series.csv")
    return [
        r["nominal"]
        for r in table
        if r["series"] == series and r["step_stops"] == "1/3"
    ]


def engraved_shutters(rows):
    """Denominators of the published series from 1/30 s on."""
    times = third_stops(rows, "shutter_s")
    return [int(t.removeprefix("1/")) for t in times[times.index("1/30") :]]


# --- Lux, EV, f-number, time -------------------------------------------------


def test_ev100_of_an_illuminance_is_the_tabulated_one(rows):
    # ISO 2720:1974 with C = 250: E = 2.5 · 2^EV, tabulated for EV −8 to 20.
    table = rows("exposure_ev100_luminance_illuminance.csv")
    lux = np.array([float(r["illuminance_lx_C250"]) for r in table])
    expected = [float(r["ev100"]) for r in table]
    np.testing.assert_allclose(exposure.ev100(lux), expected, rtol=0, atol=1e-12)


@pytest.mark.parametrize(
    ("lux", "expected"),
    # exposure_constants_and_formulas.json, worked_ev; four decimals.
    [(100_000, 15.2877), (400, 7.3219), (3.4, 0.4436), (0.25, -3.3219)],
)
def test_ev100_of_named_light_levels(lux, expected):
    assert exposure.ev100(lux) == pytest.approx(expected, abs=EV_ROUNDING)


def test_ev_of_settings_is_the_tabulated_one(rows):
    table = rows("exposure_ev_from_n_t.csv")  # log2(N²/t) of the engraved numbers
    n = np.array([float(r["f_number_nominal"]) for r in table])
    t = np.array([seconds(r["shutter_nominal_s"]) for r in table])
    expected = [float(r["ev_from_nominal_numbers_log2_N2_over_t"]) for r in table]
    np.testing.assert_allclose(exposure.ev(n, t), expected, rtol=0, atol=EV_ROUNDING)


def test_ev_of_engraved_settings_rounds_to_the_tables_integer(rows):
    table = rows("exposure_ev_from_n_t.csv")
    n = np.array([float(r["f_number_nominal"]) for r in table])
    t = np.array([seconds(r["shutter_nominal_s"]) for r in table])
    expected = [float(r["ev_nominal_integer"]) for r in table]
    np.testing.assert_allclose(exposure.ev(n, t), expected, rtol=0, atol=ENGRAVED_EV)


def test_settings_of_the_lights_own_ev_need_iso_100(rows):
    # Two tables joined: light of EV x, settings of EV x, so S = 100 but for
    # what engraving rounds away.
    light = {
        float(r["ev100"]): float(r["illuminance_lx_C250"])
        for r in rows("exposure_ev100_luminance_illuminance.csv")
    }
    table = rows("exposure_ev_from_n_t.csv")
    table = [r for r in table if float(r["ev_nominal_integer"]) in light]
    iso = exposure.iso_needed(
        [light[float(r["ev_nominal_integer"])] for r in table],
        [float(r["f_number_nominal"]) for r in table],
        [seconds(r["shutter_nominal_s"]) for r in table],
    )
    assert np.abs(np.log2(iso / 100)).max() <= ENGRAVED_EV


@pytest.mark.parametrize("iso", [100, 200, 400, 3200])
def test_sunny_16_in_64000_lux_asks_for_one_over_iso(iso):
    # Sunny-16: f/16 and 1/S in full sun; with C = 250 that is 64,000 lx.
    assert exposure.iso_needed(64_000, 16, 1 / iso) == pytest.approx(iso, rel=1e-12)


def test_sunny_16_is_ev_14_64():
    # exposure_constants_and_formulas.json: EV100_exact 14.6439.
    assert exposure.ev(16, 1 / 100) == pytest.approx(14.6439, abs=EV_ROUNDING)


@pytest.mark.parametrize(
    ("slow", "fast", "stops"),
    # Worked by hand from N²: 121, 39.69, 7.84; log2(121/39.69) and so on. By the
    # engraved scale (common practice) 5, 7 and 12 thirds.
    [(11, 6.3, 1.6082), (6.3, 2.8, 2.3399), (11, 2.8, 3.9480)],
)
def test_a_smaller_aperture_needs_more_iso_in_the_same_light(slow, fast, stops):
    lux, shutter_s = 500.0, 1 / 800
    more = exposure.iso_needed(lux, slow, shutter_s)
    less = exposure.iso_needed(lux, fast, shutter_s)
    assert np.log2(more / less) == pytest.approx(stops, abs=EV_ROUNDING)


def test_iso_needed_by_f11_f6_3_and_f2_8_at_sunrise_as_worked_by_hand():
    # S = 250·N²/(E·t) with E = 500 lx, t = 1/1000 s: 500·N², so 60,500, 19,845
    # and 3,920: one lens has light where another has long lost it.
    iso = exposure.iso_needed(500, [11, 6.3, 2.8], 1 / 1000)
    np.testing.assert_allclose(iso, [60_500, 19_845, 3_920], rtol=1e-12)


def test_no_light_is_minus_infinite_ev():
    assert exposure.ev100(0.0) == -np.inf


def test_no_light_needs_infinite_iso():
    assert exposure.iso_needed(0.0, 4, 1 / 500) == np.inf


@pytest.mark.parametrize("wrong", [0.0, -4.0, float("nan")])
@pytest.mark.parametrize("name", ["f_number", "shutter_s"])
def test_settings_that_no_camera_has_are_refused_by_name(name, wrong):
    good = {"f_number": 4.0, "shutter_s": 0.01}
    sentence = f"^{name} must be greater than 0, got {wrong:g}$"
    with pytest.raises(ValueError, match=sentence):
        exposure.ev(**(good | {name: wrong}))
    with pytest.raises(ValueError, match=sentence):
        exposure.iso_needed(100, **(good | {name: wrong}))


def test_one_wrong_setting_among_many_is_the_one_named():
    with pytest.raises(ValueError, match=r"f_number must be .* got -2$"):
        exposure.iso_needed(100.0, [2.8, -2.0, 8.0], 1 / 60)
    with pytest.raises(ValueError, match=r"shutter_s must be .* got -2$"):
        exposure.iso_needed(100.0, 2.8, [1 / 60, -2.0])


@pytest.mark.parametrize(
    ("function", "name"),
    [
        (exposure.nominal_shutter_s, "shutter_s"),
        (exposure.nominal_iso, "iso"),
    ],
)
def test_a_value_that_no_scale_holds_is_refused_by_name(function, name):
    with pytest.raises(ValueError, match=f"^{name} must be greater than 0, got -4$"):
        function(-4.0)


def test_less_than_no_light_is_refused():
    sentence = r"^illuminance_lux must be 0 or more, got -3$"
    with pytest.raises(ValueError, match=sentence):
        exposure.ev100([50.0, -3.0])
    with pytest.raises(ValueError, match=sentence):
        exposure.iso_needed([50.0, -3.0], 4.0, 1 / 60)


# --- The engraved scales -----------------------------------------------------


def test_f_numbers_are_the_published_third_stops(rows):
    published = [float(n) for n in third_stops(rows, "f_number")]
    end = published.index(32.0) + 1
    assert list(exposure.F_NUMBERS) == published[:end]


def test_shutter_times_are_the_published_third_stops(rows):
    published = engraved_shutters(rows)
    assert list(exposure.SHUTTER_DENOMINATORS[: len(published)]) == published


def test_shutter_times_beyond_the_table_go_on_in_whole_stops(rows):
    # Electronic shutters pass 1/8000 s; these are from memory, not confirmed. Three
    # thirds are a stop, so each must be half the time three places before it.
    count = len(engraved_shutters(rows))
    times = exposure.SHUTTER_DENOMINATORS
    assert len(times) > count
    assert list(times[count:]) == [2 * n for n in times[count - 3 : -3]]


def test_iso_speeds_are_the_published_third_stops(rows):
    assert list(exposure.ISO_SPEEDS) == [int(s) for s in third_stops(rows, "iso")]


def engraved_isos(rows):
    return [int(s) for s in third_stops(rows, "iso")]


def test_an_engraved_iso_stays_itself(rows):
    for iso in engraved_isos(rows):
        assert exposure.nominal_iso(iso) == iso


def test_a_last_bit_does_not_push_an_iso_to_the_next(rows):
    for iso in engraved_isos(rows):
        assert exposure.nominal_iso(float(np.nextafter(iso, np.inf))) == iso


def test_an_iso_between_two_engraved_ones_becomes_the_more_sensitive(rows):
    # Enough is the next setting up: the one below would be too dark.
    for below, above in pairwise(engraved_isos(rows)):
        assert exposure.nominal_iso(below * 1.001) == above


def test_iso_beyond_the_scale_is_its_end():
    assert (exposure.nominal_iso(1.0), exposure.nominal_iso(1e9)) == (50, 102_400)


def test_an_engraved_time_stays_itself(rows):
    for denominator in engraved_shutters(rows):
        assert exposure.nominal_shutter_s(1 / denominator) == 1 / denominator


def test_a_last_bit_does_not_push_a_time_to_the_next(rows):
    for denominator in engraved_shutters(rows):
        below = np.nextafter(1 / denominator, 0)
        assert exposure.nominal_shutter_s(float(below)) == 1 / denominator


def test_a_time_between_two_engraved_ones_becomes_the_faster(rows):
    denominators = engraved_shutters(rows)
    for slower, faster in pairwise(denominators):
        just_faster = 1 / (slower * 1.001)
        assert exposure.nominal_shutter_s(just_faster) == 1 / faster


@pytest.mark.parametrize(("shutter_s", "expected"), [(1.0, 1 / 30), (1e-6, 1 / 32_000)])
def test_a_time_beyond_the_scale_is_its_end(shutter_s, expected):
    assert exposure.nominal_shutter_s(shutter_s) == expected


# --- What a person reads -----------------------------------------------------


def test_apertures_are_written_as_engraved(rows):
    # Trade notation, f/6.3 but f/11: whole numbers carry no ".0".
    for nominal in third_stops(rows, "f_number"):
        expected = "f/" + nominal.removesuffix(".0")
        assert exposure.f_number_text(float(nominal)) == expected


def test_shutter_times_are_written_as_engraved(rows):
    for denominator in engraved_shutters(rows):
        assert exposure.shutter_text(1 / denominator) == f"1/{denominator} s"


@pytest.mark.parametrize(
    ("shutter_s", "text"), [(0.4, "0.4 s"), (0.5, "0.5 s"), (2.0, "2 s")]
)
def test_long_times_are_written_in_seconds(shutter_s, text):
    assert exposure.shutter_text(shutter_s) == text


def test_a_needed_iso_is_written_as_the_setting_that_is_enough(rows):
    for below, above in pairwise(engraved_isos(rows)):
        assert exposure.iso_text(below) == f"ISO {below}"
        assert exposure.iso_text(below * 1.001) == f"ISO {above}"


@pytest.mark.parametrize(
    ("iso", "text"),
    # Below the scale its first setting is enough; above, none is.
    [
        (3.0, "ISO 50"),
        (102_400, "ISO 102400"),
        (float(np.nextafter(102_400, np.inf)), "ISO 102400"),
        (102_500, "over ISO 102400"),
        (np.inf, "over ISO 102400"),
    ],
)
def test_iso_off_the_scale_is_said_in_words(iso, text):
    assert exposure.iso_text(iso) == text


# --- What is above the ceiling ------------------------------------------------


def test_an_iso_at_the_ceiling_is_usable_whatever_its_last_bit_says(rows):
    for ceiling in map(float, engraved_isos(rows)):
        assert exposure.stops_over(ceiling, ceiling) <= 0
        assert exposure.stops_over(np.nextafter(ceiling, np.inf), ceiling) <= 0
        # An exact ISO that differs where a person could see it is over.
        assert exposure.stops_over(ceiling * 1.000_001, ceiling) > 0


def test_twice_the_ceiling_is_a_stop_over_and_no_light_is_endlessly():
    # A stop is a factor of two (common practice); one to spare makes twice usable.
    over = exposure.stops_over([3200, 6400, 12_800, np.inf], 6400)
    assert over == pytest.approx([-1, 0, 1, np.inf], abs=1e-8)
    assert (over <= 1).tolist() == [True, True, True, False]
