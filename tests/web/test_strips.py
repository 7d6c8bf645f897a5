"""Rows of drives on one clock: bands, marks, numbers and what is spoken."""

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from lightplan.trip.drives import Closed
from lightplan.trip.plan import DrivePlan
from lightplan.trip.request import FACING_INDEX
from lightplan.web.trip import rows as strips

SIDE = FACING_INDEX["side"]
ROUNDED = 0.001  # percent; the page writes three decimals

TRIPS = {
    "week with a closed evening": ("Mopane Loop", "2027-08-12", "2027-08-18"),
    "from sunrise, to sunset": ("Heron Marsh", "2027-03-26", "2027-03-31"),
    "midnight sun, past midnight": ("Ptarmigan Fjord", "2027-06-10", "2027-06-13"),
    "sun leaves": ("Ptarmigan Fjord", "2027-04-18", "2027-04-23"),
    "seasons change": ("Mopane Loop", "2027-10-30", "2027-11-02"),
}


@pytest.fixture(params=TRIPS)
def of(request, trip):
    return trip(*TRIPS[request.param])


def key_of(row) -> str:
    """The drive that a row's button chooses."""
    return row.children[0].to_plotly_json()["props"]["data-drive"]


def percent(component, side: str) -> float:
    return float(component.style[side].removesuffix("%"))


def wall_minute(of, utc, iana) -> float:
    """Minutes on the place's clock, by zoneinfo; a drive's own midnight is 0."""
    zone = iana(of.request.place.timezone)
    local = utc.astype("datetime64[s]").item().replace(tzinfo=dt.UTC).astimezone(zone)
    return local.hour * 60 + local.minute


@pytest.fixture
def rows(of, classed):
    """Yield every drive of the trip with its row, morning by morning."""
    sections = strips.sections(of, "")
    shown = [row for section in sections for row in classed(section, "drive-row")]
    ordered = sorted(of.drives, key=lambda d: d.session == "evening")
    assert len(shown) == len(ordered) > 0
    return list(zip(ordered, shown, strict=True))


def test_a_minute_is_as_wide_in_every_row(rows, classed):
    wide = [
        percent(band, "width") / stretch.minutes
        for drive, row in rows
        for stretch, band in zip(drive.windows, classed(row, "band"), strict=True)
    ]
    # Rounding weighs most on a band of one minute.
    np.testing.assert_allclose(wide, wide[0], atol=ROUNDED)


def test_bands_fill_the_gate_from_end_to_end(rows, classed):
    for _, row in rows:
        bands, (gate,) = classed(row, "band"), classed(row, "gate")
        left = percent(gate, "left")
        for band in bands:
            assert percent(band, "left") == pytest.approx(left, abs=2 * ROUNDED)
            left += percent(band, "width")
        ends = percent(gate, "left") + percent(gate, "width")
        assert left == pytest.approx(ends, abs=len(bands) * ROUNDED)


def test_bands_have_the_light_of_the_plans_windows(rows, classed):
    for drive, row in rows:
        names = [band.className.split("light-")[1] for band in classed(row, "band")]
        assert names == [stretch.window.key for stretch in drive.windows]


def test_every_row_lies_on_the_axis(rows, classed):
    for _, row in rows:
        (gate,) = classed(row, "gate")
        assert percent(gate, "left") >= 0
        assert percent(gate, "left") + percent(gate, "width") <= 100 + ROUNDED


def test_gates_stand_under_the_hours_above_them(of, classed, text_of, iana):
    """A gate opens where the hour ticks above it put the place's clock."""
    for section in strips.sections(of, ""):
        ticks = [t for t in classed(section, "tick") if ":" in text_of(t)]
        hours = [int(text_of(t)[:2]) for t in ticks]
        # After midnight the hours run on, as on the axis.
        hours = [h + 24 * (h < hours[0]) for h in hours]
        at = [percent(t, "left") for t in ticks]
        per_hour = (at[-1] - at[0]) / (hours[-1] - hours[0])
        for row in classed(section, "drive-row"):
            opens_utc = of.drive(key_of(row)).drive.opens_utc
            opens = wall_minute(of, opens_utc, iana) / 60
            (gate,) = classed(row, "gate")
            expected = at[0] + (opens - hours[0]) * per_hour
            assert percent(gate, "left") == pytest.approx(expected, abs=0.01)


def test_marks_stand_at_the_first_and_last_usable_minutes(rows, classed):
    for drive, row in rows:
        (gate,) = classed(row, "gate")
        left = percent(gate, "left")
        per_minute = percent(gate, "width") / (len(drive.utc) - 1)
        spans = [s for o in drive.outcomes for s in (o[SIDE].first, o[SIDE].last) if s]
        # Usable minutes end 25 min before the gate shuts, where there is one.
        gates = (drive.opens_utc, drive.closes_utc - np.timedelta64(25, "m"))
        expected = sorted(
            left + drive.minute(s.utc) * per_minute for s in spans if s.utc not in gates
        )
        found = [percent(m, "left") for m in classed(row, "mark")]
        np.testing.assert_allclose(sorted(found), expected, atol=0.01)


def test_a_row_shows_warm_and_usable_minutes(rows, classed, text_of):
    for drive, row in rows:
        (best,), (usable,) = classed(row, "row-golden"), classed(row, "row-usable")
        warm = drive.kelvin[SIDE] <= 4500
        assert text_of(best) == str(warm[:-1].sum())
        minutes = [outcomes[SIDE].usable_min for outcomes in drive.outcomes]
        assert text_of(usable) == " · ".join(map(str, minutes))


def test_only_the_selected_drive_is_pressed(trip, classed):
    of = trip("Mopane Loop", "2027-08-12", "2027-08-14")
    chosen = of.drives[3].key
    pressed = {
        key_of(row): row.children[0].to_plotly_json()["props"]["aria-pressed"]
        for section in strips.sections(of, chosen)
        for row in classed(section, "drive-row")
    }
    assert pressed.pop(chosen) == "true"
    assert set(pressed.values()) == {"false"}


def test_buttons_carry_the_keys_of_the_drives(of, classed):
    found = [
        key_of(row)
        for section in strips.sections(of, "")
        for row in classed(section, "drive-row")
    ]
    assert sorted(found) == sorted(drive.key for drive in of.drives)


# ---------------------------------------------------------------- in words


def test_the_spoken_name_of_a_row_tells_all_its_numbers(trip, with_minutes):
    of = trip(rigs=3)
    evening = with_minutes(of.drives[1], (0, 124), None, (10, 180))
    told = replace(of, rows=(evening,))
    (section,) = strips.sections(told, "")
    spoken = section.children[1].children[0].children[0].to_plotly_json()
    # 124, 0 and 170 are the minutes written down above.
    assert spoken["props"]["aria-label"] == (
        f"Thu 12 Aug, evening, 15:30 to 18:30: warm light {evening.warm_min} minutes; "
        "usable minutes A 124, B 0, C 170"
    )


def test_a_closed_day_is_told_in_words_with_its_reason(trip, classed, text_of):
    of = trip("Mopane Loop", "2027-08-13")  # a Friday
    assert isinstance(of.rows[1], Closed)
    evenings = strips.sections(of, "")[1]
    (row,) = classed(evenings, "closed-row")
    assert text_of(row) == "Fri 13 Augclosed Friday evenings"


def test_a_trip_of_closed_days_only_has_rows_and_no_clock(trip, classed, text_of):
    of = trip("Two Rivers Plain", "2027-10-12", "2027-10-13")
    assert not any(isinstance(row, DrivePlan) for row in of.rows)
    sections = strips.sections(of, "")
    rows = [row for section in sections for row in classed(section, "closed-row")]
    assert len(rows) == len(of.rows) == 6  # two days of morning, evening and night
    assert all("closed while the tracks are graded" in text_of(row) for row in rows)
    assert not [t for section in sections for t in classed(section, "tick")]


def test_a_place_with_mornings_only_has_no_evenings(gated, trip, text_of, classed):
    sections = strips.sections(trip(gated("06:00", "10:00")), "")
    assert [text_of(classed(s, "row-name")[0]) for s in sections] == ["Mornings"]


def test_narrow_bands_go_without_a_name(of, classed, text_of):
    for section in strips.sections(of, ""):
        names = classed(section, "light-name")
        at = [percent(name, "left") for name in names]
        assert at == sorted(at)
        assert all(text_of(name) for name in names)


def test_what_only_repeats_the_spoken_name_is_hidden_from_it(rows):
    for _, row in rows:
        button, *others = row.children
        assert all(
            other.to_plotly_json()["props"]["aria-hidden"] == "true" for other in others
        )
        assert "aria-hidden" not in button.to_plotly_json()["props"]
