"""The animal in each rig's frame, against optics done apart."""

import datetime as dt

import numpy as np
import pytest

from lightplan import naming
from lightplan.catalog.kit import Body, Lens, Rig
from lightplan.catalog.places import Place
from lightplan.trip import frame, frame_words, plan
from lightplan.trip.request import Request, choose

PLACE = Place.model_validate(
    {"name": "p", "latitude_deg": -13, "longitude_deg": 31, "timezone": "UTC"}
)
DAY = dt.date(2027, 8, 12)
SENSORS = {"full frame": (36.0, 24.0), "APS-C": (23.5, 15.6)}


def rig(focal: float, f_number: float, sensor: str = "full frame") -> Rig:
    body = Body(name="body", format=sensor, megapixels=45)
    lens = Lens(name="lens", widest=((focal, f_number),))
    return Rig(name=f"{focal:g}", body=body, lens=lens)


def framed(*rigs: Rig, **more):
    asked = Request(PLACE, DAY, DAY, tuple(choose(r) for r in rigs), **more)
    return frame.in_frame(asked)


def test_a_lion_at_30_m_with_600_mm_is_longer_than_the_frame():
    # f/(s − f) = 0.0204 on the sensor: 1.9 m of lion make 38.8 mm of 36 mm.
    (found,) = framed(rig(600, 6.3), animal="lion", distance_m=30)
    assert found.filled_share == pytest.approx(38.78 / 36, rel=1e-3)
    # Pixels of 4.38 µm, from 864 mm² and 45 megapixels.
    assert found.body_px == pytest.approx(38.78 / 0.004382, rel=1e-3)
    assert found.fills_at_m == pytest.approx(0.6 + 1.9 * 600 / (0.6 * 36), rel=1e-3)


def test_depth_of_600_mm_at_30_m_does_not_reach_a_lions_tail_and_f_29_does():
    # Depth tables: 29.54–30.47 m at f/6.3 with a circle of 0.030 mm.
    (open_wide,) = framed(rig(600, 6.3), animal="lion", distance_m=30)
    assert open_wide.far_m == pytest.approx(30.47, abs=0.03)
    assert not open_wide.nose_to_tail
    assert open_wide.pair_f_number == pytest.approx(12.8, abs=0.2)
    # N·c·s²/f² = 29 · 0.0288 mm · (30/0.6)² = 2.1 m behind the eye, 1.9 m long.
    (stopped,) = framed(rig(600, 29), animal="lion", distance_m=30)
    assert stopped.nose_to_tail


def test_at_equal_picture_equal_pupils_are_as_deep_and_as_clean_on_any_sensor():
    # Pupils of 95.2 mm each, one of them on the smaller sensor.
    long, short = framed(rig(600, 6.3), rig(300, 3.15, "APS-C"), distance_m=80)
    assert short.used_share == pytest.approx(0.25 * 864 / (23.5 * 15.6))
    assert (short.near_m, short.far_m) == pytest.approx(
        (long.near_m, long.far_m), rel=2e-3
    )
    assert short.background_share == pytest.approx(long.background_share, rel=0.02)
    # Needed ISO goes with N² at one shutter; so do both limits.
    ratio = (3.15 / 6.3) ** 2
    assert short.usable_iso / long.usable_iso == pytest.approx(ratio)
    assert short.clean_iso / long.clean_iso == pytest.approx(ratio)
    assert long.usable_iso / long.clean_iso == pytest.approx(16)


def test_a_flying_bird_is_as_wide_as_its_wings():
    perched, spread = (
        framed(rig(600, 6.3), animal="heron", pace=pace, distance_m=30)[0]
        for pace in ("resting", "flying")
    )
    assert spread.body_px / perched.body_px == pytest.approx(1.75 / 0.93)
    assert spread.head_px == perched.head_px


def test_a_lens_that_is_longer_than_the_distance_has_no_picture():
    near, far = framed(rig(1200, 8), rig(400, 4), animal="impala", distance_m=1.0)
    assert near is None
    assert far is not None


# ------------------------------------------------------------------------ in words


def asked(*rigs: Rig, **more) -> Request:
    return Request(PLACE, DAY, DAY, tuple(choose(r) for r in rigs), **more)


def test_sentence_says_size_sharpness_and_bands():
    text = naming.plain(frame_words.answer(asked(rig(600, 6.3), distance_m=70)))
    # 1.9 m · 600/69400 = 16.4 of 36 mm.
    assert (
        "A lion at 70 m fills 46 % of the frame of A; from 53 m it fills 60 %" in text
    )
    assert "the lion is sharp nose to tail, and two of them" in text
    assert (
        "is clean to ISO 2000 and its noise acceptable to ISO 32000; beyond that"
        in text
    )


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"animal": "elephant", "distance_m": 60}, "An elephant at 60 m does not fit"),
        ({"animal": "owl", "pace": "flying"}, "An owl in flight at 30 m"),
        (
            {"distance_m": 60, "output": "web"},
            "For the web at 2048 px a picture of A is clean",
        ),
        # N = f²·d/(2·c·s₁·s₂) = 0.36 · 1.9 / (2 · 0.0288 mm · 40 · 41.9) = 7.1.
        ({"distance_m": 40}, "behind the other, need f/7.1."),
        # 5.6 at 45 m: the lens's own f/6.3 is just enough.
        ({"distance_m": 45}, "behind the other, are both sharp."),
        # 2·N·c·(s/f)·(s/f − 1), 2 · 6.3 · 0.02884 mm · 66.7 · 65.7, is 1.59 m.
        ({"distance_m": 40}, "Its depth of field is 1.59 m: facing you"),
        ({"distance_m": 100}, "behind the other, are both sharp."),
        ({"animal": "owl"}, "the owl is sharp bill to tail"),
        ({"distance_m": 2000, "animal": "owl"}, "fills 0 % of the frame"),
    ],
)
def test_sentence_fits_what_was_asked(more, said):
    assert said in naming.plain(frame_words.answer(asked(rig(600, 6.3), **more)))


# At 40 m two lions ask for f/7.1: (7.1/6.3)² of the ISO, 0.34 stop, and by as much
# less light the last minute comes earlier. Counted from the plan's own ISO.
def test_stopping_down_for_two_says_until_when_it_holds():
    trip = plan.make(asked(rig(600, 6.3), distance_m=40, pace="resting"))
    (choice,) = trip.request.rigs
    for drive in trip.drives:
        iso = drive.iso[0, 1, : drive.until + 1]
        ends = []
        for factor in (1.0, (7.1 / 6.3) ** 2):
            held = np.flatnonzero(iso * factor <= choice.iso_ceiling)
            edge = held[0] if drive.session == "morning" else held[-1]
            ends.append(trip.clock(drive.utc[edge]))
        own, both = ends
        word = "from" if drive.session == "morning" else "to"
        assert own != both
        assert frame_words.for_both(trip, drive) == (
            f" On {drive.name}, f/7.1 for both holds {word} {both}, f/6.3 {word} {own}."
        )


@pytest.mark.parametrize("distance_m", [1.0, 45, 5])
def test_stopping_down_is_not_spoken_of_where_it_is_not_needed_or_no_use(distance_m):
    # A metre off 1200 mm cannot focus, at 45 m f/6.3 is enough, at 5 m f/32 is not.
    focal = 1200 if distance_m == 1.0 else 600
    trip = plan.make(asked(rig(focal, 6.3), distance_m=distance_m))
    assert frame_words.for_both(trip, trip.drives[0]) == ""


def column(request, name):
    return [
        dict(zip(frame_words.HEAD[1:], c, strict=True))[name]
        for c in frame_words.cells(request)
    ]


def test_table_says_what_each_rig_holds_sharp():
    # The first as above: H = f²/(N·c) = 1.98 km, 30 ∓ 0.45 m; at 100 m to 105.3 m.
    # 24 mm at f/4 is sharp to infinity from H = 5 m on.
    near, far = asked(rig(600, 6.3)), asked(rig(600, 6.3), distance_m=100)
    assert column(near, "Sharp from – to") == ["29.6 – 30.5 m"]
    assert [column(r, "Nose to tail") for r in (near, far)] == [["no"], ["yes"]]
    assert column(asked(rig(24, 4)), "Sharp from – to") == ["4.3 – ∞"]
    # N = 0.36 · 1.9 / (2 · 0.0288 mm · 45 · 46.9) = 5.6 and at 40 m 7.1.
    pair = [column(asked(rig(600, 6.3), distance_m=d), "Two animals") for d in (40, 45)]
    assert pair == [["f/7.1"], ["sharp"]]


def test_nose_to_tail_is_the_whole_animal():
    # At 45 m sharpness ends 1.05 m behind the eye, half of a lion's 1.9 m is 0.95 m.
    assert column(asked(rig(600, 6.3), distance_m=45), "Nose to tail") == ["no"]


def test_table_says_what_a_crop_to_one_view_leaves():
    # A quarter of 45 megapixels; 500 and 505 mm are one view to a photographer.
    crops = column(asked(rig(600, 6.3), rig(300, 2.8)), "Crop")
    assert crops == ["none", "to 25 %, 11 MP"]
    assert column(asked(rig(500, 4), rig(505, 4)), "Crop") == ["to 98 %, 44 MP", "none"]
    # Blur of 10 m behind at 30 m: f²/N · 10/(40 · 29.7) is 0.27 mm of a height of
    # 24 mm, cropped to half of it.
    (_, cropped) = framed(rig(600, 6.3), rig(300, 2.8), distance_m=30)
    assert cropped.background_share == pytest.approx(0.2706 / 12, rel=1e-3)


def test_a_lion_that_should_fly_has_the_size_of_a_lion():
    ((size, flies),) = [
        (one.body_px, frame.subject(asked(rig(600, 6.3), pace="flying"))[2])
        for one in framed(rig(600, 6.3), animal="lion", pace="flying", distance_m=30)
    ]
    assert not flies
    assert size == pytest.approx(38.78 / 0.004382, rel=1e-3)


def test_an_animal_too_near_for_every_lens_is_said_so():
    request = asked(rig(1200, 8), distance_m=1.0, animal="impala")
    text = naming.plain(frame_words.answer(request))
    assert text == "The animal is nearer than any of these lenses focuses. "
    assert {len(row) for row in frame_words.cells(request)} == {
        len(frame_words.HEAD) - 1
    }


def test_bands_by_the_minute_are_those_of_each_minutes_iso():
    iso = np.array([1e6, 9000, 6400, 6400, 1600, 400, 400, 7000, 1.0])
    found = frame.stretches(iso, clean=400, usable=6400)
    names = "".join("CUR"[band] * (end - first) for first, end, band in found)
    # The last minute is the gate itself; an ISO at a limit is within it.
    assert names == "RRUUUCCR"


def test_strips_in_words_tell_the_minutes_counted_from_the_plan():
    trip = plan.make(asked(rig(600, 6.3), rig(300, 4.0)))
    drive = next(d for d in trip.drives if d.session == "evening")
    text = frame_words.strips(trip, drive)
    assert text.startswith("By noise, for an A3 print, cropped to one view: A clean ")
    for letter, iso, share in zip("AB", drive.iso[:, 1], (1.0, 0.25), strict=True):
        usable = np.flatnonzero(iso[:-1] <= 32245.6 * share)
        span = (
            f"acceptable {trip.clock(drive.utc[usable[0]])}–"
            f"{trip.clock(drive.utc[usable[-1] + 1])}"
        )
        assert span in text.split(f"{letter} clean")[1].split(";")[0]
