"""The numbers in the tables and in the readout are the plan's own."""

import re
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from lightplan.camera import exposure
from lightplan.trip.minutes import Outcome, Rung
from lightplan.trip.request import FACINGS
from lightplan.web.trip import frame, tables

# A place, a date, and which of its drives.
DRIVES = {
    "morning": ("Mopane Loop", "2027-08-12", 0),
    "evening": ("Mopane Loop", "2027-08-12", 1),
    "haze and woods, UTC+5:30": ("Teak Hollow", "2027-11-04", 1),
    "midnight sun": ("Ptarmigan Fjord", "2027-06-10", 1),
    "sun below the horizon": ("Ptarmigan Fjord", "2027-04-21", 1),
}


@pytest.fixture(params=DRIVES)
def shown(request, trip):
    place, date, which = DRIVES[request.param]
    of = trip(place, date, rigs=6)
    return of, of.drives[which]


def cells(table, walk, text_of, tag="Td"):
    """The texts of a table's body, row by row."""
    body = next(c for c in walk(table) if type(c).__name__ == "Tbody")
    return [
        [text_of(cell) for cell in row.children if type(cell).__name__ == tag]
        for row in body.children
    ]


def clock(of, utc, iana):
    zone = iana(of.request.place.timezone)
    instant = np.datetime64(utc, "s").item()
    return f"{zone.fromutc(instant.replace(tzinfo=zone)):%H:%M}"


def signed(text: str) -> float:
    return float(text.replace("−", "-").rstrip("°"))


# ------------------------------------------------------- rigs by side of the sun


def test_each_rig_has_a_row_and_each_side_a_column(shown, walk, text_of):
    of, drive = shown
    table = tables.rig_table(of, drive)
    found = cells(table, walk, text_of)
    assert [len(row) for row in found] == [len(FACINGS)] * len(of.request.rigs)
    heads = [text_of(c) for c in walk(table) if getattr(c, "scope", "") == "col"]
    assert heads == ["Rig", *(f.label for f in FACINGS)]


def test_a_rigs_row_names_its_settings_and_its_ceiling(shown, walk, text_of):
    of, drive = shown
    names = cells(tables.rig_table(of, drive), walk, text_of, "Th")
    for letter, choice, (name,) in zip("ABCDEF", of.request.rigs, names, strict=True):
        shutter = f"1/{round(1 / choice.shutter_s)} s"
        ceiling = f"up to ISO {choice.iso_ceiling:.0f}"
        assert name == f"{letter} {choice.label} at {shutter} {ceiling}"


def test_first_and_last_minutes_and_counts_are_the_plans(shown, walk, text_of, iana):
    of, drive = shown
    found = cells(tables.rig_table(of, drive), walk, text_of)
    for rig, row in enumerate(found):
        for facing, text in enumerate(row):
            outcome = drive.outcomes[rig][facing]
            if outcome.first is None:
                dark = "only in more light" if outcome.possible else "not usable"
                assert text.startswith(f"{dark}0 min")
                continue
            first = clock(of, outcome.first.utc, iana)
            last = clock(of, outcome.last.utc, iana)
            spreads = r"(start \(.+?\))?(end \(.+?\))?"
            whole = rf"{first} – (.*, .* – )?{last}{spreads}\d+ min, .*"
            assert re.fullmatch(whole, text)
            counts = f"{outcome.usable_min} min, {outcome.usable_golden_min} golden"
            assert counts in text


# From 15:30: 1/1000 to 17:20 and 7 in 10, 1/500 to 17:30 and 2 in 10 of the frames;
# 1/250 leaves fewer than 2 in 10, 1/2000 is faster than the rig's own 1/1600.
def test_slower_shutters_stand_below_with_their_share(
    trip, with_minutes, walk, text_of
):
    of = trip(rigs=1)
    drive = with_minutes(of.drives[1], (0, 100))
    at = [drive.opens_utc + np.timedelta64(m, "m") for m in (0, 90, 100, 110, 120, 130)]
    shares = {2000: 0.95, 1600: 0.85, 1000: 0.72, 500: 0.21, 250: 0.05}
    ladder = tuple(
        Rung(1 / n, at[0], last, share)
        for (n, share), last in zip(shares.items(), at[1:], strict=True)
    )
    outcome = replace(drive.outcomes[0][0], ladder=ladder)
    table = tables.rig_table(of, replace(drive, outcomes=((outcome,) * 3,)))
    found = cells(table, walk, text_of)[0][0]
    assert found.endswith(
        "1/1000 to 17:20 (7 in 10 sharp)1/500 to 17:30 (2 in 10 sharp)"
    )


# A rig's row holds its own numbers: 400 mm f/2.8 and 600 mm at 30 m, a lion of 1.9 m
# on 36 mm, fills f/(s − f) · 1.9 m.
def test_the_frames_table_has_each_rigs_row_under_its_name(trip, walk, text_of):
    of = trip(rigs=2)
    section = frame.section(of, of.drives[0])
    table, names = (cells(section, walk, text_of, tag) for tag in ("Td", "Th"))
    focals = [c.focal_mm for c in of.request.rigs]
    wanted = [
        f"{1.9 * f / (30_000 - f) / 0.036:.0%}".replace("%", " %") for f in focals
    ]
    assert focals[0] != focals[1]
    assert [row[0] for row in table] == wanted
    labels = [[f"{x} {f:.0f} mm"] for x, f in zip("AB", focals, strict=True)]
    assert [[name.split(" f/")[0] for name in row] for row in names] == labels


# The rigs' own times differ, by a stop and more.
def test_each_rigs_slower_shutters_are_slower_than_its_own(trip, walk, text_of):
    of = trip(rigs=3)
    table = cells(tables.rig_table(of, of.drives[1]), walk, text_of)
    own = [round(1 / c.shutter_s) for c in of.request.rigs]
    assert len(set(own)) > 1
    for row, fastest in zip(table, own, strict=True):
        for text in row:
            named = [int(n) for n in re.findall(r"1/(\d+) (?:to|from)", text)]
            stops = (4000, 2000, 1000, 500, 250, 125, 60, 30)
            wanted = [n for n in stops if n < fastest]
            assert named == wanted[: len(named)]
        assert re.search(r"1/\d+ (?:to|from)", row[0])


def test_a_rig_never_usable_is_said_to_be_so(trip, with_minutes, walk, text_of):
    of = trip(rigs=1)
    table = tables.rig_table(of, with_minutes(of.drives[1], None))
    assert cells(table, walk, text_of) == [["not usable0 min"] * 3]


def test_what_only_more_light_makes_usable_is_not_called_unusable(trip, walk, text_of):
    of = trip("Mopane Loop", "2027-08-12", rigs=1)
    drive = of.drives[0]
    hopeful = Outcome(None, None, 0, 0, True)
    outcomes = tuple(tuple(hopeful for _ in FACINGS) for _ in drive.outcomes)
    table = tables.rig_table(of, replace(drive, outcomes=outcomes))
    assert cells(table, walk, text_of) == [["only in more light0 min"] * 3]


def test_the_spread_stands_in_brackets(trip, with_minutes, walk, text_of):
    of = trip(rigs=1)
    # From 15:30: starts at 15:40 (15:35–15:50), ends at 17:30 (17:20–17:45).
    told = with_minutes(of.drives[1], (10, 120, 5, 20, 110, 135))
    found = cells(tables.rig_table(of, told), walk, text_of)[0][0]
    spreads = "start (15:35–15:50)end (17:20–17:45)"
    assert found.startswith(f"15:40 – 17:30{spreads}")


# ------------------------------------------------------- by the minute


def minutes_listed(of, drive, walk, text_of, iana):
    """The minutes of the drive whose clock readings head the rows, in order."""
    heads = [h for (h,) in cells(tables.minute_table(of, drive), walk, text_of, "Th")]
    clocks = [clock(of, utc, iana) for utc in drive.utc]
    found, start = [], 0
    for head in heads:
        start = clocks.index(head, start)
        found.append(start)
        start += 1
    return found


def test_both_gates_and_every_windows_start_are_listed(shown, walk, text_of, iana):
    of, drive = shown
    found = minutes_listed(of, drive, walk, text_of, iana)
    assert found[0] == 0
    assert found[-1] == len(drive.utc) - 1
    assert {drive.minute(s.start_utc) for s in drive.windows} <= set(found)


def test_no_two_rows_are_more_than_ten_minutes_apart(shown, walk, text_of, iana):
    of, drive = shown
    assert np.diff(minutes_listed(of, drive, walk, text_of, iana)).max() <= 10


@pytest.mark.parametrize("timezone", ["Africa/Lusaka", "Asia/Kathmandu"])
def test_rows_between_are_full_tens_of_the_places_clock(
    timezone, gated, trip, walk, text_of
):
    # Nepal's clock is 5:45 ahead of UTC.
    longitude = {"Africa/Lusaka": 31.8, "Asia/Kathmandu": 84.3}[timezone]
    of = trip(gated("06:00", "10:00", "morning", 27.5, longitude, timezone))
    drive = of.drives[0]
    heads = [h for (h,) in cells(tables.minute_table(of, drive), walk, text_of, "Th")]
    assert {f"{h:02d}:{m}0" for h in range(6, 10) for m in range(6)} <= set(heads)


def test_sun_and_exposure_value_are_the_plans(shown, walk, text_of, iana):
    of, drive = shown
    side = [f.key for f in FACINGS].index("side")
    rows = cells(tables.minute_table(of, drive), walk, text_of)
    listed = minutes_listed(of, drive, walk, text_of, iana)
    for i, (*_, value, colour, altitude, bearing) in zip(listed, rows, strict=True):
        assert signed(altitude) == pytest.approx(drive.altitude_deg[i], abs=0.051)
        degrees = float(bearing.split("°")[0])
        assert degrees == pytest.approx(drive.azimuth_deg[i] % 360, abs=0.51)
        # ISO 2720 with C = 250: EV = log2(E·100/250).
        ev = np.log2(drive.lux[side, i] / 2.5)
        assert signed(value) == pytest.approx(ev, abs=0.051)
        kelvin = drive.kelvin[side, i]
        if np.isnan(kelvin):
            assert colour == "–"
        elif kelvin <= 20_000:
            found, mired = re.fullmatch(r"([\d,]+) K, (\d+) mired", colour).groups()
            assert float(found.replace(",", "")) == pytest.approx(kelvin, abs=25.1)
            assert int(mired) == pytest.approx(1e6 / kelvin, abs=0.51)


def test_the_minutes_columns_are_headed_and_the_iso_come_first(shown, walk, text_of):
    of, drive = shown
    heads = [
        text_of(c)
        for c in walk(tables.minute_table(of, drive))
        if type(c).__name__ == "Th" and c.scope == "col"
    ]
    rigs = [f"{'ABCDEF'[i]} {c.label}" for i, c in enumerate(of.request.rigs)]
    sky = ["EV at ISO 100", "Colour", "Sun altitude", "Sun bearing"]
    assert heads == ["Time", "Light", *rigs, *sky]


def test_a_windows_name_is_the_one_its_minute_lies_in(shown, walk, text_of, iana):
    of, drive = shown
    rows = cells(tables.minute_table(of, drive), walk, text_of)
    listed = minutes_listed(of, drive, walk, text_of, iana)[:-1]
    for i, row in zip(listed, rows[:-1], strict=True):
        here = [s for s in drive.windows if s.start_utc <= drive.utc[i] < s.end_utc]
        assert [row[0]] == [s.window.label for s in here]


def test_needed_iso_is_the_plans_as_the_next_setting_of_a_camera(
    shown, walk, text_of, iana
):
    of, drive = shown
    rows = cells(tables.minute_table(of, drive), walk, text_of)
    listed = minutes_listed(of, drive, walk, text_of, iana)
    top = exposure.ISO_SPEEDS[-1]
    for i, row in zip(listed, rows, strict=True):
        for rig, text in enumerate(row[1:-4]):
            needed = drive.iso[rig, 1, i]
            iso = re.split("up to|slower than", text)[0]
            if needed > top:
                assert iso == f"over ISO {top}"
                continue
            if needed < 100:  # no camera goes below its base ISO: a faster shutter
                wanted = 100 / needed / of.request.rigs[rig].shutter_s
                fast = min(
                    d for d in exposure.SHUTTER_DENOMINATORS if d >= wanted * (1 - 1e-9)
                )
                assert iso == f"ISO 100, 1/{fast} s"
                continue
            enough = min(s for s in exposure.ISO_SPEEDS if s >= needed * (1 - 1e-9))
            assert iso == f"ISO {enough}"


# The engraved times are those of exposure_nominal_series.csv. At the ceiling a rig
# needs its own time · needed ISO ÷ ceiling at the least.
def test_the_fastest_shutter_is_the_fastest_that_the_ceiling_allows(
    shown, walk, text_of, iana, rows
):
    of, drive = shown
    engraved = [
        float(Fraction(row["nominal"]))
        for row in rows("exposure_nominal_series.csv")
        if row["series"] == "shutter_s" and row["step_stops"] == "1/3"
    ]
    times = [t for t in engraved if 1 / 8000 <= t <= 1 / 30]
    listed = minutes_listed(of, drive, walk, text_of, iana)
    body = cells(tables.minute_table(of, drive), walk, text_of)
    for i, row in zip(listed, body, strict=True):
        for rig, text in enumerate(row[1:-4]):
            choice = of.request.rigs[rig]
            iso_at = {t: drive.iso[rig, 1, i] * choice.shutter_s / t for t in times}
            fit = [
                t for t, iso in iso_at.items() if iso <= choice.iso_ceiling * 1.000001
            ]
            said = f"up to 1/{round(1 / min(fit))} s" if fit else "slower than 1/30 s"
            assert text.endswith(said)


def test_an_iso_above_the_ceiling_is_struck_through_and_no_other(
    shown, walk, text_of, iana
):
    of, drive = shown
    table = tables.minute_table(of, drive)
    body = next(c for c in walk(table) if type(c).__name__ == "Tbody")
    listed = minutes_listed(of, drive, walk, text_of, iana)
    for i, row in zip(listed, body.children, strict=True):
        for rig, cell in enumerate(row.children[2:-4]):
            over = drive.iso[rig, 1, i] > of.request.rigs[rig].iso_ceiling
            assert (cell.className == "over") == over


def caption(table, text_of) -> str:
    (of,) = [c for c in table if getattr(c, "className", "") == "caption"]
    return text_of(of)


def test_low_sun_has_its_geometric_altitude_as_the_caption_says(trip, walk, text_of):
    # Half an hour after sunrise refraction lifts the sun by a tenth of a degree or
    # more (Saemundsson's formula gives 0.14° at 6°, 0.48° at the horizon).
    of = trip("Mopane Loop", "2027-08-12", rigs=1)
    drive = of.drives[0]
    table = tables.minute_table(of, drive)
    assert "Altitudes are geometric" in caption(table, text_of)
    (*_, altitude, _) = cells(table, walk, text_of)[0]
    assert abs(signed(altitude) - drive.altitude_deg[0]) <= 0.05 + 1e-9
    assert abs(signed(altitude) - drive.apparent_deg[0]) > 0.1


def test_minutes_end_at_turn_back_as_the_caption_says(trip, text_of):
    of = trip("Mopane Loop", "2027-08-12", rigs=1)
    drive = of.drives[0]
    outcome = drive.outcomes[0][0]
    assert outcome.last.utc == drive.turn_back_utc < drive.closes_utc
    assert "up to turn-back" in caption(tables.rig_table(of, drive), text_of)


# Hand calculation: a walking lion's feet move at √(0.15 · 9.81 · 0.9) · √(0.65/0.35)
# = 1.568 m/s beside it; at 30 m through 600 mm 31.4 mm/s, in 1/1600 s 19.6 µm, 4.5
# pixels of 4.38 µm.
def test_the_caption_tells_how_far_feet_smear_and_nothing_of_one_at_rest(trip, text_of):
    of = trip("Mopane Loop", "2027-08-12", rigs=1)
    told = caption(tables.rig_table(of, of.drives[0]), text_of)
    assert re.search(r"Feet smear about 4 px with A$", told)
    of = trip("Mopane Loop", "2027-08-12", rigs=1, pace="resting")
    assert "smear" not in caption(tables.rig_table(of, of.drives[0]), text_of)


# A stride is there once, a pose for several frames: judgement, as the README says.
@pytest.mark.parametrize(("pace", "sharp"), [("walking", 8), ("resting", 6)])
def test_the_caption_says_that_a_proposed_speed_may_be_faster(
    trip, text_of, pace, sharp
):
    of = trip("Mopane Loop", "2027-08-12", rigs=1, pace=pace)
    told = caption(tables.rig_table(of, of.drives[0]), text_of)
    assert f"the slowest that keeps {sharp} frames in 10 sharp: while" in told


def test_without_gates_no_way_back_is_counted_in(trip, text_of):
    of = trip("Mopane Loop", "2027-08-12", rigs=1)
    drive = replace(of.drives[0], drive=replace(of.drives[0].drive, gated=False))
    assert "turn-back" not in caption(tables.rig_table(of, drive), text_of)


def test_tables_have_a_caption_and_headed_rows_and_columns(shown, walk):
    of, drive = shown
    for table in (tables.rig_table(of, drive), tables.minute_table(of, drive)):
        parts = list(walk(table))
        captions = [c for c in parts if getattr(c, "className", "") == "caption"]
        assert len(captions) == 1
        (scroller,) = [c for c in parts if getattr(c, "role", "") == "region"]
        assert scroller.tabIndex == 0
        heads = [c for c in parts if type(c).__name__ == "Th"]
        assert {c.scope for c in heads} == {"row", "col"}


# ------------------------------------------------------- the readout


def test_there_is_one_reading_a_minute_of_every_rig(shown):
    of, drive = shown
    read = tables.readings(of, drive)
    assert len(read["head"]) == len(drive.utc)
    assert [len(texts) for texts in read["rigs"]] == [len(drive.utc)] * 6
    assert [name[:2] for name in read["names"]] == [f"{x} " for x in "ABCDEF"]


def test_a_reading_and_its_row_in_the_table_say_the_same(shown, walk, text_of, iana):
    of, drive = shown
    read = tables.readings(of, drive)
    rows = cells(tables.minute_table(of, drive), walk, text_of)
    for i, row in zip(
        minutes_listed(of, drive, walk, text_of, iana), rows, strict=True
    ):
        light, *iso, value, colour, altitude, bearing = row
        time, head = read["head"][i]
        assert time == clock(of, drive.utc[i], iana)
        # In the dark the moon is added to it.
        head, _, moon = head.partition(" · moon at ")
        kelvin = "" if colour == "–" else f" · {colour.partition(' K')[0]} K"
        assert head == f"{light} · sun at {altitude}, {bearing} · EV {value}{kelvin}"
        assert not moon or light == "dark"
        said = [texts[i].replace(", over its ceiling", "") for texts in read["rigs"]]
        assert [text.replace("; ", "") for text in said] == iso


def test_a_reading_says_where_the_ceiling_is_passed(shown):
    of, drive = shown
    read = tables.readings(of, drive)
    for rig, texts in enumerate(read["rigs"]):
        said = np.array(["over its ceiling" in text for text in texts])
        ceiling = of.request.rigs[rig].iso_ceiling
        np.testing.assert_array_equal(said, drive.iso[rig, 1] > ceiling)
