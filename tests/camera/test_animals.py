"""Sizes and speeds of animals against handbooks and measurements."""

import math

import pytest

from lightplan.camera.animals import ANIMALS

# Shoulder height and length of head and body, low and high, in cm: ranges of mammal
# handbooks (Kingdon, Estes, Walker), from memory; a tenth of play beyond them. The
# giraffe's and the bears' hold small and large races.
MAMMALS_CM = {
    "elephant": (250, 400, 300, 500), "giraffe": (270, 330, 380, 470),
    "rhino": (150, 185, 335, 420), "buffalo": (100, 170, 170, 340),
    "zebra": (125, 140, 217, 246), "wildebeest": (115, 145, 170, 240),
    "impala": (70, 92, 120, 160), "warthog": (55, 85, 90, 150),
    "baboon": (50, 75, 50, 115), "lion": (80, 123, 140, 250),
    "leopard": (43, 79, 91, 191), "cheetah": (70, 90, 110, 150),
    "hyena": (77, 81, 120, 180), "wild-dog": (60, 78, 76, 112),
    "tiger": (80, 110, 140, 280), "red-deer": (95, 150, 160, 260),
    "roe-deer": (60, 75, 95, 135), "moose": (150, 210, 240, 310),
    "brown-bear": (70, 150, 140, 280), "wolf": (60, 90, 100, 150),
    "red-fox": (35, 50, 50, 90),
}  # fmt: skip
# Mean length of head and body in cm: PanTHERIA (Jones et al., Ecology 90:2648, 2009),
# whose rhino is a known outlier. Populations differ by a fifth.
MEAN_CM = {
    "giraffe": 417.7, "buffalo": 252.6, "zebra": 246, "wildebeest": 201.5,
    "impala": 142.0, "warthog": 135.6, "lion": 183.5, "leopard": 137.8,
    "cheetah": 148.0, "hyena": 130.0, "wild-dog": 92.4, "tiger": 182.5,
    "red-deer": 213.7, "moose": 293.0, "wolf": 105.5, "red-fox": 62.7,
}  # fmt: skip
MEAN_SHARE = 0.2
# Bill to tail and wing span in cm: ranges of bird handbooks, from memory.
BIRDS_CM = {
    "stork": (142, 150, 240, 270), "heron": (84, 102, 155, 195),
    "fish-eagle": (63, 75, 200, 240), "vulture": (78, 98, 196, 225),
    "goose": (74, 91, 147, 180), "duck": (50, 65, 81, 98),
    "owl": (33, 39, 80, 95), "roller": (28, 36, 50, 58),
    "bee-eater": (25, 29, 36, 49), "kingfisher": (25, 26, 45, 47),
    "small-kingfisher": (12, 14, 18, 22),
}  # fmt: skip
# Speeds watched in the field, in m/s: (animal, pace, low, high).
WATCHED = [
    # A mean walk of 7.2 km/h, as reported of Hutchinson et al. 2003.
    ("elephant", "walking", 1.8, 2.2),
    # Wolves on the move go 8 to 9 km/h: field studies, from memory.
    ("wolf", "trotting", 2.0, 2.7),
    # Lions walk 3 to 4.5 km/h between rests: field studies, from memory.
    ("lion", "walking", 0.8, 1.3),
    # Collared impala and zebra, mean top speed of runs 10 to 15 m/s for the fastest
    # and about half of what they can for most: Wilson et al. 2018, from memory.
    ("impala", "running", 5.0, 10.0),
    ("zebra", "running", 7.0, 12.0),
    # Collared cheetahs, mean top speed of runs: Wilson et al. 2013.
    ("cheetah", "running", 14.85, 14.95),
]
# Wingbeats a second that watchers count, from memory; Pennycuick's law is good to
# about a third for one species.
BEATS_HZ = {"heron": 2.3, "duck": 8.5, "goose": 4.6, "bee-eater": 7.5}
BEATS_SHARE = 0.35


def test_every_animal_is_within_its_handbooks_range():
    assert MAMMALS_CM.keys() | BIRDS_CM.keys() == ANIMALS.keys()
    for key, (low, high, short, long) in MAMMALS_CM.items():
        assert low <= ANIMALS[key].height_m * 100 <= high, key
        assert short <= ANIMALS[key].length_m * 100 <= long, key
    for key, (short, long, narrow, wide) in BIRDS_CM.items():
        assert short <= ANIMALS[key].length_m * 100 <= long, key
        assert narrow <= ANIMALS[key].wings.span_m * 100 <= wide, key


@pytest.mark.parametrize("key", sorted(MEAN_CM))
def test_a_body_is_as_long_as_the_mean_of_its_kind(key):
    assert ANIMALS[key].length_m * 100 == pytest.approx(MEAN_CM[key], rel=MEAN_SHARE)


@pytest.mark.parametrize(("key", "pace", "low", "high"), WATCHED)
def test_an_animal_goes_as_fast_as_watchers_say(key, pace, low, high):
    assert low <= ANIMALS[key].speeds_m_s[pace] <= high


def test_each_pace_is_faster_than_the_one_before():
    # A check of the table: a hip or a top speed that is out of place shows here.
    for animal in ANIMALS.values():
        speeds = list(animal.speeds_m_s.values())
        assert speeds == sorted(speeds), animal.key
        assert speeds, animal.key


def test_a_head_is_a_plain_share_of_its_body():
    # Heads of mammals are a fifth to a third of head and body (anatomy, from memory);
    # a long bill makes it up to a half.
    for animal in ANIMALS.values():
        share = animal.head_m / animal.length_m
        assert 0.14 <= share <= (0.34 if animal.kind == "mammal" else 0.5), animal.key


@pytest.mark.parametrize("key", sorted(BEATS_HZ))
def test_wings_beat_as_often_as_watchers_count(key):
    found = ANIMALS[key].wings.beat_hz
    assert found == pytest.approx(BEATS_HZ[key], rel=BEATS_SHARE)


def test_a_bird_of_twice_the_size_beats_its_wings_slower_by_the_root():
    # Pennycuick 1996: bodies of one shape beat with length to the power of
    # 3·3/8 − 23/24 − 2/3 = −1/2, as a pendulum does.
    wings = ANIMALS["heron"].wings
    twice = wings._replace(
        mass_kg=8 * wings.mass_kg, span_m=2 * wings.span_m, area_m2=4 * wings.area_m2
    )
    assert twice.beat_hz == pytest.approx(wings.beat_hz / math.sqrt(2), rel=1e-9)


def test_wings_count_in_flight_and_a_neck_where_it_stands_out():
    heron, giraffe = ANIMALS["heron"], ANIMALS["giraffe"]
    assert heron.size_m(flying=True) == (1.75, heron.length_m)
    assert heron.size_m() == (heron.length_m, heron.height_m)
    # Bulls stand 4.7 to 5.3 m, cows 3.9 to 4.5 m: handbooks, from memory.
    assert 3.9 <= giraffe.size_m()[1] <= 5.3
    assert ANIMALS["lion"].size_m(flying=True) == ANIMALS["lion"].size_m()
