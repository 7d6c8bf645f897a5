"""What more light, more time or more doubt does to a plan, wherever it is."""

import datetime as dt
from dataclasses import replace

import numpy as np
import wild
from hypothesis import assume, given
from hypothesis import strategies as st

from lightplan.catalog.kit import Body, Lens, Rig
from lightplan.catalog.places import Place
from lightplan.light import daylight
from lightplan.sky.windows import Limits
from lightplan.trip import plan
from lightplan.trip.drives import Closed
from lightplan.trip.minutes import Outcome
from lightplan.trip.request import Request, RigChoice, choose

BODY = Body(name="body", format="full frame", megapixels=45, iso_ceiling=6400)
FACINGS = range(3)
MINUTE = np.timedelta64(1, "m")

RESERVES = st.sampled_from(
    [
        (-13.1, 31.8, "Africa/Lusaka"),
        (0.2, 36.9, "Africa/Nairobi"),
        (22.3, 80.6, "Asia/Kolkata"),
        (37.0, -6.4, "Europe/Madrid"),
        (-51.0, -72.9, "America/Punta_Arenas"),
        (78.2, 15.6, "Arctic/Longyearbyen"),
        (1.9, -157.4, "Pacific/Kiritimati"),
    ]
)
# The tool's years, and latitudes the sun is good for.
DATES = st.dates(dt.date(1950, 1, 1), dt.date(2037, 12, 31))
SKIES = st.sampled_from(sorted(daylight.SKIES))
COVERS = st.sampled_from(sorted(daylight.COVERS))
F_NUMBERS = st.sampled_from([1.4, 2.8, 4.0, 5.6, 6.3, 8.0, 11.0])
SHUTTERS = st.sampled_from([1 / 125, 1 / 500, 1 / 1000, 1 / 3200])
CEILINGS = st.sampled_from([400, 1600, 6400, 25600])

# Common practice: full stops from the fastest of most cameras to the slowest engraved.
FULL_STOPS = (8000, 4000, 2000, 1000, 500, 250, 125, 60, 30)

few = wild.cases(60)


@st.composite
def choices(draw) -> RigChoice:
    f_number = draw(F_NUMBERS)
    lens = Lens(name="lens", widest=((400, f_number),))
    rig = Rig(name="rig", body=BODY, lens=lens)
    return RigChoice(rig, 400, f_number, draw(SHUTTERS), draw(CEILINGS))


def place(reserve, opens: int, closes: int) -> Place:
    latitude_deg, longitude_deg, timezone = reserve
    hours = tuple(f"{m // 60:02d}:{m % 60:02d}" for m in (opens, closes))
    return Place.model_validate(
        {
            "name": "Test Pan",
            "latitude_deg": latitude_deg,
            "longitude_deg": longitude_deg,
            "timezone": timezone,
            "gates": [{"evening": hours}],
        }
    )


@st.composite
def requests(draw) -> Request:
    opens = draw(st.integers(0, 22 * 60))
    closes = draw(st.integers(opens + 30, 29 * 60))
    date = draw(DATES)
    return Request(
        place(draw(RESERVES), opens, closes),
        date,
        date,
        (draw(choices()),),
        sky=draw(SKIES),
        cover=draw(COVERS),
    )


def drive(request: Request) -> plan.DrivePlan:
    rows = plan.make(request).rows
    # A gate inside a skipped hour, or a date the calendar skips, has no drive.
    assume(not isinstance(rows[0], Closed))
    return rows[0]


def usable(request: Request) -> list[int]:
    return [outcome.usable_min for outcome in drive(request).outcomes[0]]


def with_rig(request: Request, **changes) -> Request:
    return replace(request, rigs=(replace(request.rigs[0], **changes),))


@few
@given(RESERVES, DATES, choices(), st.data())
def test_later_gate_never_loses_minutes(reserve, date, choice, data):
    closes = data.draw(st.integers(15 * 60, 28 * 60))
    later = data.draw(st.integers(closes, 29 * 60))
    sooner, longer = (
        usable(Request(place(reserve, 14 * 60, c), date, date, (choice,)))
        for c in (closes, later)
    )
    assert all(b >= a for a, b in zip(sooner, longer, strict=True))
    assert all(b - a <= later - closes for a, b in zip(sooner, longer, strict=True))


@few
@given(RESERVES, DATES, choices(), st.data())
def test_earlier_gate_never_loses_minutes(reserve, date, choice, data):
    opens = data.draw(st.integers(4 * 60, 10 * 60))
    earlier = data.draw(st.integers(2 * 60 + 1, opens))
    shorter, longer = (
        usable(Request(place(reserve, o, 11 * 60), date, date, (choice,)))
        for o in (opens, earlier)
    )
    assert all(b >= a for a, b in zip(shorter, longer, strict=True))


@few
@given(requests())
def test_one_stop_is_one_stop_by_iso_aperture_or_shutter(request):
    rig = request.rigs[0]
    ways = (
        with_rig(request, iso_ceiling=2 * rig.iso_ceiling),
        with_rig(request, f_number=rig.f_number / 2**0.5),
        with_rig(request, shutter_s=2 * rig.shutter_s),
    )
    # A ladder names the rig's own shutter time, which is not the same.
    by_iso, by_aperture, by_shutter = (
        [replace(o, ladder=()) for o in drive(r).outcomes[0]] for r in ways
    )
    assert by_iso == by_aperture == by_shutter


@few
@given(requests())
def test_higher_ceiling_never_loses_minutes(request):
    higher = with_rig(request, iso_ceiling=1.26 * request.rigs[0].iso_ceiling)
    assert all(b >= a for a, b in zip(usable(request), usable(higher), strict=True))


@few
@given(requests(), st.floats(0, 2), st.floats(0, 1))
def test_more_spread_never_narrows_earliest_to_latest(request, stops, more):
    def with_spread(spread_stops: float) -> list[Outcome]:
        sky = replace(daylight.sky_named(request.sky), spread_stops=spread_stops)
        return list(drive(replace(request, sky=sky, cover="open")).outcomes[0])

    for narrow, wide in zip(with_spread(stops), with_spread(stops + more), strict=True):
        assert wide.possible or not narrow.possible
        assert (wide.usable_min, wide.usable_golden_min) == (
            narrow.usable_min,
            narrow.usable_golden_min,
        )
        if narrow.first is None:
            continue
        assert wide.first.utc == narrow.first.utc
        assert wide.first.earliest_utc <= narrow.first.earliest_utc
        assert wide.last.latest_utc >= narrow.last.latest_utc
        # None is the dark end at which no minute is left, the widest of all.
        if wide.first.latest_utc is not None:
            assert wide.first.latest_utc >= narrow.first.latest_utc
            assert wide.last.earliest_utc <= narrow.last.earliest_utc


@few
@given(requests())
def test_haze_never_gains_minutes_lit_from_the_front_on_open_ground(request):
    # In shade it may: haze scatters light from the beam into the sky, and shade
    # lives on the sky.
    clear, haze = (
        usable(replace(request, sky=s, cover="open"))[0] for s in ("clear", "haze")
    )
    assert haze <= clear


@few
@given(requests())
def test_thicker_cloud_never_gains_minutes_on_open_ground(request):
    # A storm's sky is taken as darker than an overcast one, and that as darker than
    # a clear one (common practice).
    overcast, storm = (
        usable(replace(request, sky=s, cover="open")) for s in ("overcast", "storm")
    )
    assert all(b <= a for a, b in zip(overcast, storm, strict=True))


@few
@given(requests())
def test_iso_is_what_the_light_and_the_settings_ask_for(request):
    done, rig = drive(request), request.rigs[0]
    # ISO 2720: N²/t = E·S/C with C = 250.
    iso = 250 * rig.f_number**2 / (done.lux * rig.shutter_s)
    assert np.allclose(done.iso[0], iso, rtol=1e-9)


@few
@given(requests())
def test_outcome_counts_the_minutes_at_which_the_iso_suffices(request):
    done = drive(request)
    ceiling = request.rigs[0].iso_ceiling
    golden = (done.altitude_deg >= -4) & (done.altitude_deg < 6)
    # Every drive here has a gate and is longer than the way back.
    until = len(done.utc) - 1 - request.travel_min
    for facing in FACINGS:
        outcome = done.outcomes[0][facing]
        fits = (done.iso[0, facing] <= ceiling)[: until + 1]
        assert outcome.usable_min == fits[:-1].sum()
        assert outcome.usable_golden_min == (fits & golden[: until + 1])[:-1].sum()
        assert (outcome.first is None) == (not fits.any())
        if outcome.first is not None:
            assert outcome.first.utc == done.utc[: until + 1][fits][0]
            assert outcome.last.utc == done.utc[: until + 1][fits][-1]
        held = {
            minute
            for run in outcome.stretches
            for minute in np.arange(run.first_utc, run.last_utc + MINUTE)
        }
        assert held == set(done.utc[: until + 1][fits])


@few
@given(requests())
def test_a_ladder_is_what_a_loop_over_the_minutes_finds(request):
    done, rig = drive(request), request.rigs[0]
    until = len(done.utc) - 1 - request.travel_min
    times = {rig.shutter_s, *(1 / n for n in FULL_STOPS)}
    for facing in FACINGS:
        expected = []
        for shutter_s in sorted(times):
            # Half of the time, twice the ISO: to first principles, not by stops.
            iso = done.iso[0, facing, : until + 1] * rig.shutter_s / shutter_s
            holds = [i for i, s in enumerate(iso) if s <= rig.iso_ceiling]
            if holds:
                expected.append((shutter_s, done.utc[holds[0]], done.utc[holds[-1]]))
        ladder = done.outcomes[0][facing].ladder
        assert [rung[:3] for rung in ladder] == expected
        shares = [rung.sharp_share for rung in ladder]
        assert shares == sorted(shares, reverse=True)
        firsts = [rung.first_utc for rung in ladder]
        assert firsts == sorted(firsts, reverse=True)


@few
@given(requests(), st.floats(0, 8), st.floats(0, 8))
def test_more_stabilisation_never_loses_a_minute(request, one, another):
    def minutes(stops: float) -> list[int]:
        rig = request.rigs[0].rig
        lens = rig.lens.model_copy(update={"stabiliser_stops": stops})
        held = choose(
            rig.model_copy(update={"lens": lens}),
            request.pace,
            f_number=request.rigs[0].f_number,
            iso_ceiling=request.rigs[0].iso_ceiling,
            hold="braced",
        )
        return usable(replace(request, rigs=(held,), hold="braced"))

    less, more = map(minutes, sorted((one, another)))
    assert all(b >= a for a, b in zip(less, more, strict=True))


@few
@given(
    st.floats(-78, 78),
    st.floats(-180, 180),
    DATES,
    SKIES,
    st.sampled_from(["UTC", "Pacific/Kiritimati", "Pacific/Midway", "Asia/Kathmandu"]),
)
def test_place_without_gates_has_a_plan_anywhere(
    latitude_deg, longitude_deg, date, sky, timezone
):
    anywhere = Place(
        name="anywhere",
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
        timezone=timezone,
    )
    rig = Rig(name="r", body=BODY, lens=Lens(name="l", widest=((400, 4.0),)))
    request = Request(anywhere, date, date, (choose(rig),), sky=sky)
    trip = plan.make(request)
    assert len(trip.rows) == 2
    for done in trip.drives:
        length = (done.closes_utc - done.opens_utc) // MINUTE
        assert 0 < length <= 240
        assert sum(done.window_min(w.key) for w in trip.windows) == length
        assert np.isfinite(done.iso).all()
        # From civil dawn to civil dusk; the last half minute may be darker.
        assert done.altitude_deg.min() > -6.2 or latitude_deg > 66 or latitude_deg < -66


@few
@given(requests(), st.floats(-5.9, 5.9), st.floats(0.1, 20))
def test_wider_golden_limits_never_lose_golden_minutes(request, low, wider):
    narrow = Limits(low, 6.0, 30.0)
    wide = Limits(max(low - wider, -5.99), min(6.0 + wider, 29.0), 30.0)
    in_narrow, in_wide = (
        drive(replace(request, limits=limits)) for limits in (narrow, wide)
    )
    assert in_wide.window_min("golden") >= in_narrow.window_min("golden")
    assert all(
        b.usable_golden_min >= a.usable_golden_min
        for a, b in zip(in_narrow.outcomes[0], in_wide.outcomes[0], strict=True)
    )
