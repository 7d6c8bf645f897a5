"""Stops learned from frames: made from the model with a known offset, they come back."""

import datetime as dt

import numpy as np
import pytest
from scipy import optimize, stats

from lightplan.camera import exposure
from lightplan.frames import calibrate, zonecheck
from lightplan.frames import words as calibrate_words
from lightplan.frames.calibrate import Group, Sample
from lightplan.light import daylight
from lightplan.sky import sun

PLACE = (-13.1, 31.8)  # its clock is UTC+2
MORNING, EVENING, NOON = (4, 5), (14, 15), (9, 10, 11)  # hours UTC
NOISE_STOPS = 0.5

# A median of n values misses by 1.25 σ/√n (normal theory); four times that is met
# by chance once in 16,000.
SIGMAS = 4.0


def instants(rng, count, hours, days=6):
    """Sorted instants over some days of August, each a burst of its own mostly."""
    since = rng.integers(0, days, count) * 86_400 + rng.choice(hours, count) * 3600
    since = since + rng.integers(0, 3600, count)
    return np.sort(
        np.datetime64("2025-08-12T00:00:00") + since.astype("timedelta64[s]")
    )


def metered(utc, stops, group, rng=None, noise=0.0):
    """EV₁₀₀ of frames under a cover so many stops darker than the group's base."""
    altitude = sun.position(utc, *PLACE).altitude_deg
    lux = daylight.subject_lux(
        sun.apparent_altitude_deg(altitude), group.facing_deg, group.sky, group.base
    )
    noises = rng.normal(0, noise, len(utc)) if rng else 0.0
    return exposure.ev100(lux) - stops + noises


# --- metered EV ---------------------------------------------------------------


@pytest.mark.parametrize(
    ("f_number", "shutter_s", "iso", "compensation", "ev"),
    [
        # Exif 2.3, annex C: Av = 2·log2 N, Tv = −log2 t, Sv = log2(S/3.125), so
        # Sv = 5 at ISO 100. By hand, in whole powers of two:
        (2**2.5, 1 / 1024, 100, 0.0, 15.0),  # Av 5, Tv 10
        (2**2.5, 1 / 1024, 3200, 0.0, 10.0),  # Sv 10, five stops more
        (1.0, 1.0, 100, 0.0, 0.0),  # EV 0 is one second at f/1
        (4.0, 1 / 2, 25, 0.0, 7.0),  # Av 4, Tv 1, Sv 3
        # +1 gave one stop more than metered: the meter had read one more.
        (2**2.5, 1 / 512, 100, 1.0, 15.0),
        (2**2.5, 1 / 2048, 100, -1.0, 15.0),
    ],
)
def test_metered_ev_is_exifs(f_number, shutter_s, iso, compensation, ev):
    got = calibrate.metered_ev100(f_number, shutter_s, iso, compensation)
    assert got == pytest.approx(ev, abs=1e-12)


@pytest.mark.parametrize("values", [(0, 0.001, 100), (8, 0, 100), (8, 0.001, 0)])
def test_metered_ev_refuses_what_no_camera_sets(values):
    with pytest.raises(ValueError, match="greater than 0"):
        calibrate.metered_ev100(*values)


def test_a_bearing_goes_before_a_side():
    utc = np.array(["2025-08-12T15:00"], dtype="datetime64[s]")  # sun in the west
    ev = np.zeros(1)
    east = calibrate.stops_taken(utc, ev, *PLACE, Group("x", bearing_deg=90.0))
    west = calibrate.stops_taken(utc, ev, *PLACE, Group("x", bearing_deg=270.0))
    assert east - west > 1  # ANSI PH2.7: backlit takes about 2 stops


# --- bursts -------------------------------------------------------------------


def test_frames_seconds_apart_are_one_burst_and_minutes_apart_two():
    seconds = [0, 1, 2, 5, 300, 302]
    utc = np.datetime64("2025-08-12T05:00:00") + np.array(seconds, "timedelta64[s]")
    assert calibrate.bursts(utc).tolist() == [0, 0, 0, 0, 1, 1]


def test_a_run_without_a_pause_is_cut_every_minute():
    utc = np.datetime64("2025-08-12T05:00:00") + np.arange(0, 150).astype(
        "timedelta64[s]"
    )
    counts = np.bincount(calibrate.bursts(utc))
    assert counts.tolist() == [60, 60, 30]


def test_no_frame_is_no_burst():
    assert len(calibrate.bursts(np.array([], dtype="datetime64[s]"))) == 0


def test_a_long_burst_has_one_vote():
    rng = np.random.default_rng(3)
    group, lone = Group("forest"), instants(rng, 30, EVENING)
    burst = np.datetime64("2025-08-20T05:00:00") + np.arange(55).astype(
        "timedelta64[s]"
    )
    utc = np.concatenate([lone, burst])
    ev = np.concatenate([metered(lone, 3.0, group), metered(burst, 0.0, group)])
    found = calibrate.fit(utc, ev, *PLACE, group)
    assert found.stops == pytest.approx(3.0, abs=0.01)
    assert found.bursts <= 31
    assert found.frames == 85


# --- the fit ------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("sky", ["clear", "overcast"])
@pytest.mark.parametrize(
    ("stops", "facing_deg"), [(0.0, 0.0), (3.4, 90.0), (6.0, 180.0)]
)
def test_a_known_offset_comes_back_within_the_noise(seed, sky, stops, facing_deg):
    rng = np.random.default_rng(seed)
    group = Group("forest", sky, facing_deg)
    utc = instants(rng, 60, MORNING + EVENING)
    ev = metered(utc, stops, group, rng, NOISE_STOPS)
    found = calibrate.fit(utc, ev, *PLACE, group)
    doubt = 1.2533 * NOISE_STOPS / found.bursts**0.5
    assert found.stops == pytest.approx(stops, abs=SIGMAS * doubt)
    # A sample's spread is off by about 1.17 σ/√n for the median deviation.
    assert found.spread_stops == pytest.approx(
        NOISE_STOPS, abs=SIGMAS * 1.17 * NOISE_STOPS / found.bursts**0.5
    )


def apart(count, minutes=1):
    """Instants of an afternoon, each a burst of its own."""
    gap = np.timedelta64(minutes, "m")
    return np.datetime64("2025-08-12T13:30:00") + np.arange(count) * gap


# Which way outliers lie: bright frames, dark ones, or both by turns.
SIDES = {"bright": [1.0], "dark": [-1.0], "both": [1.0, -1.0]}


# Few and many; the noisier and the nearer the outliers, the harder to tell.
@pytest.mark.parametrize("count", [30, 100])
@pytest.mark.parametrize("noise", [0.5])
@pytest.mark.parametrize("wrong_stops", [3.0, 4.0, 12.0])
@pytest.mark.parametrize("side", SIDES)
def test_a_fifth_of_gross_outliers_moves_the_result_less_than_a_fifth_stop(
    count, noise, wrong_stops, side
):
    fifth = count // 5
    for seed in range(40):
        rng = np.random.default_rng(seed)
        clean = 3.4 + rng.normal(0, noise, count)
        bad = clean.copy()
        wrong = wrong_stops * np.resize(SIDES[side], fifth)
        bad[rng.choice(count, fifth, replace=False)] += wrong
        moved = calibrate.robust(bad).middle - calibrate.robust(clean).middle
        assert abs(moved) < 0.2, f"seed {seed}"


@pytest.mark.parametrize("seed", range(10))
@pytest.mark.parametrize("wrong_stops", [6.0, -6.0])
def test_gross_outliers_are_counted_as_set_aside(seed, wrong_stops):
    rng, group, utc = np.random.default_rng(seed), Group("forest"), apart(30)
    ev = metered(utc, 3.4, group, rng, NOISE_STOPS)
    ev[rng.choice(30, 6, replace=False)] += wrong_stops
    found = calibrate.fit(utc, ev, *PLACE, group)
    assert found.stops == pytest.approx(3.4, abs=SIGMAS * found.error_stops)
    # Beyond 3 of the noise's own sigmas, up to two of the 24 others by chance too.
    assert 6 <= found.outliers <= 8


@pytest.mark.parametrize("spread", [0.3, 1.0])
def test_the_middle_solves_the_bisquares_equation(spread):
    # Maronna and others, Robust Statistics (2019), sec. 2.3: Σψ((x − m)/s) = 0 with
    # ψ(u) = u·(1 − (u/c)²)² inside ±c, s the scaled median absolute deviation;
    # the root found by SciPy, between the quartiles.
    rng = np.random.default_rng(4)
    values = np.concatenate([rng.normal(3, spread, 40), rng.normal(7, 0.5, 9)])
    cut = 3 * stats.median_abs_deviation(values, scale="normal")

    def pull(middle):
        u = (values - middle) / cut
        return np.sum(np.where(np.abs(u) < 1, u * (1 - u**2) ** 2, 0))

    wanted = optimize.brentq(pull, *np.quantile(values, [0.25, 0.75]))
    found = calibrate.robust(values)
    assert found.middle == pytest.approx(wanted, abs=1e-5)
    weighed = values[np.abs(values - wanted) < cut]
    near = 3 * 1.4826 * np.median(np.abs(weighed - wanted))
    assert found.kept == np.sum(np.abs(values - wanted) <= near)


def test_spread_is_scipys_median_deviation_where_nothing_is_set_aside():
    values = np.random.default_rng(1).uniform(-1, 1, 500)
    found = calibrate.robust(values)
    assert found.kept == 500
    # SciPy's scale="normal" is 1/Φ⁻¹(3/4) = 1.4826, ours to four digits.
    wanted = stats.median_abs_deviation(
        values, scale="normal", center=lambda _, axis: found.middle
    )
    assert found.spread == pytest.approx(wanted, rel=1e-4)


THOROUGH = [
    pytest.param(count, wrong, marks=pytest.mark.thorough)
    for count in (8, 15, 50, 100)
    for wrong in (0.0, 4.0)
    if (count, wrong) != (15, 4.0)
]


@pytest.mark.parametrize(("count", "wrong_stops"), [(15, 4.0), *THOROUGH])
def test_doubt_of_the_middle_is_what_repeated_trips_show(count, wrong_stops):
    # Against the scatter of 400 made-up trips themselves, whose own deviation is
    # known to 1/√800, 3.5 %; the doubt is told a little high where a fifth are
    # outliers, since those left over widen the spread.
    rng = np.random.default_rng(7)
    group, utc = Group("forest"), apart(count)
    quiet, fits = metered(utc, 3.0, group), []
    for _ in range(400):
        ev = quiet + rng.normal(0, 0.7, count)
        ev[rng.choice(count, count // 5, replace=False)] += wrong_stops
        fits.append(calibrate.fit(utc, ev, *PLACE, group))
    said = np.mean([found.error_stops**2 for found in fits]) ** 0.5
    assert np.std([found.stops for found in fits]) == pytest.approx(said, rel=0.2)


def test_frames_alike_still_have_the_spread_of_half_a_dials_step():
    # Third stops are what dials are cut in (nominal scales, tests/data).
    assert calibrate.robust(np.full(20, 2.0)).spread == pytest.approx(1 / 6)


def test_frames_with_the_sun_below_twelve_degrees_are_no_evidence():
    utc = np.array(["2025-08-12T05:00", "2025-08-12T20:00"], dtype="datetime64[s]")
    found = calibrate.fit(utc, np.array([8.0, -20.0]), *PLACE, Group("forest"))
    assert (found.frames, found.dark, found.bursts) == (1, 1, 1)


@pytest.mark.parametrize("hours", [EVENING, NOON])
def test_counted_from_the_cover_itself_nothing_is_left(hours):
    rng = np.random.default_rng(5)
    woods, utc = Group("forest", base="woodland"), instants(rng, 40, hours)
    found = calibrate.fit(utc, metered(utc, 0.0, woods), *PLACE, woods)
    assert found.stops == pytest.approx(0.0, abs=1e-9)


def test_counted_from_open_ground_a_habit_drops_out():
    rng = np.random.default_rng(5)
    utc, habit = instants(rng, 40, EVENING), 0.8
    forest, plain = Group("forest"), Group("plain")
    dark = calibrate.fit(utc, metered(utc, 3.0 + habit, forest), *PLACE, forest)
    bare = calibrate.fit(utc, metered(utc, habit, plain), *PLACE, plain)
    found = calibrate.less(dark, bare)
    assert found.stops == pytest.approx(3.0, abs=0.01)
    assert found.error_stops == pytest.approx(
        np.hypot(dark.error_stops, bare.error_stops)
    )


@pytest.mark.parametrize(
    ("count", "stops", "noise", "flaw"),
    [
        (7, 3.0, 0.3, "too_few"),
        (60, 3.0, 3.0, "too_wide"),
        (60, -4.0, 0.3, "implausible"),
        (60, 12.0, 0.3, "implausible"),
        (60, 3.0, 0.3, ""),
    ],
)
def test_what_is_too_little_too_wide_or_impossible_is_not_used(
    count, stops, noise, flaw
):
    rng = np.random.default_rng(2)
    utc = np.datetime64("2025-08-12T14:30") + np.arange(count) * np.timedelta64(60, "s")
    group = Group("forest")
    ev = metered(utc, stops, group, rng, noise)
    found = calibrate.fit(utc.astype("datetime64[s]"), ev, *PLACE, group)
    flaws = [f for f in ("too_few", "too_wide", "implausible") if getattr(found, f)]
    assert flaws == ([flaw] if flaw else [])
    assert found.usable == (not flaw)


def test_no_frame_at_all_is_too_few():
    nothing = np.array([], dtype="datetime64[s]")
    found = calibrate.fit(nothing, np.array([]), *PLACE, Group("forest"))
    assert found.too_few
    assert not found.usable


# --- the clock's zone ---------------------------------------------------------


def sample(seed, shift_min, hours, noise=NOISE_STOPS, base="open"):
    rng = np.random.default_rng(seed)
    utc = instants(rng, 40, hours)
    truth = Group("forest", base=base)
    ev = metered(utc, 3.0, truth, rng, noise)
    return Sample(Group("forest"), utc + np.timedelta64(shift_min, "m"), ev)


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("shift_min", [60, -60, 120, -330, 570])
def test_a_wrong_zone_is_noticed_and_named(seed, shift_min):
    found = zonecheck.misfit([sample(seed, shift_min, MORNING + EVENING)], *PLACE)
    assert found is not None
    assert found.shift_min == -shift_min


def test_of_very_many_groups_a_few_bursts_each_are_tried(monkeypatch):
    tried = []
    taken = calibrate.stops_taken

    def counted(utc, *args):
        tried.append(utc.size)
        return taken(utc, *args)

    monkeypatch.setattr(calibrate, "stops_taken", counted)
    many = [sample(seed, 120, MORNING + EVENING) for seed in range(400)]
    found = zonecheck.misfit(many, *PLACE)
    assert found is not None
    assert found.shift_min == -120
    readings = 1 + len(zonecheck.SHIFTS_MIN)  # the clock as it is, then at each shift
    assert sum(tried) <= zonecheck.MOST_IN_ALL * readings


def test_daylight_frames_put_into_the_night_are_noticed():
    # Frames round noon fit many zones, but none by night.
    found = zonecheck.misfit([sample(1, 12 * 60, NOON)], *PLACE)
    assert found is not None
    assert found.miss_stops == zonecheck.NO_LIGHT_STOPS


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("hours", [MORNING, EVENING, NOON, MORNING + EVENING])
@pytest.mark.parametrize(("noise", "base"), [(1.0, "open"), (0.5, "canopy")])
def test_the_right_zone_raises_no_doubt(seed, hours, noise, base):
    assert zonecheck.misfit([sample(seed, 0, hours, noise, base)], *PLACE) is None


def test_frames_at_odds_with_each_other_raise_no_doubt_of_the_clock():
    # ±3 stops: by chance some shift is better by 0.4 stop in several of these.
    for seed in range(60):
        whole = sample(seed, 0, MORNING, noise=3.0)
        some = np.sort(np.random.default_rng(seed).choice(len(whole.utc), 14, False))
        few = Sample(whole.group, whole.utc[some], whole.ev100[some])
        assert zonecheck.misfit([few], *PLACE) is None


def test_a_handful_of_frames_raises_no_doubt():
    few = sample(1, 120, EVENING)
    few = Sample(few.group, few.utc[:8], few.ev100[:8])
    assert zonecheck.misfit([few], *PLACE) is None
    assert zonecheck.misfit([], *PLACE) is None


def test_all_real_zones_are_within_the_shifts_tried(iana):
    # The IANA files: no clock is further from another than the range allows for
    # a camera set to UTC.
    now = dt.datetime(2025, 8, 12, tzinfo=dt.UTC)
    for name in ("Pacific/Kiritimati", "Etc/GMT+12", "Asia/Kolkata"):
        minutes = now.astimezone(iana(name)).utcoffset() / dt.timedelta(minutes=1)
        assert minutes in zonecheck.SHIFTS_MIN


# --- in words -----------------------------------------------------------------


def fitted(stops=3.44, spread=0.5, bursts=41, base="open", outliers=0):
    return calibrate.Fit(
        Group("Forest", base=base), stops, spread, 0.1, 180, bursts, outliers, 0
    )


@pytest.mark.parametrize(
    ("found", "said"),
    [
        # √(0.5² + 0.1²) = 0.51: the spread, with the doubt of the middle in it.
        (fitted(), "Forest costs you 3.4 ± 0.5 stops (180 frames in 41 bursts)."),
        (fitted(outliers=3), "3.4 ± 0.5 stops (180 frames in 41 bursts, 3 set aside)."),
        (fitted(base="woodland"), "costs you 3.4 ± 0.5 stops more than woodland ("),
        (fitted(-0.6, base="woodland"), "gives you 0.6 ± 0.5 stops more than woodland"),
        (fitted(bursts=1), "Forest: 1 burst is too few to learn from; at least 8"),
        (fitted(spread=2.13), "differ by ±2.1 stops, more than the ±1.5 of the widest"),
        (fitted(-3), "gives you 3.0 ± 0.5 stops more than open ground, which no cover"),
        (fitted(12), "costs you 12.0 ± 0.5 stops, which no cover does, so nothing is"),
    ],
)
def test_each_fit_has_its_sentence(found, said):
    assert said in calibrate_words.learned(found)


def test_bursts_vote_with_their_median_all_at_once(monkeypatch):
    # numpy.median is the reference; called for each of thousands it takes seconds.
    rng = np.random.default_rng(8)
    sizes = rng.integers(1, 6, 300)
    starts = np.arange(300) * 60
    utc = np.concatenate([s + np.arange(n) for s, n in zip(starts, sizes, strict=True)])
    values = rng.normal(size=len(utc))
    wanted = [np.median(v) for v in np.split(values, np.cumsum(sizes)[:-1])]
    monkeypatch.setattr(np, "median", lambda *a: pytest.fail("one at a time"))
    at = np.datetime64("2025-08-12T06:00:00") + utc
    assert calibrate.votes(at, values).tolist() == wanted
