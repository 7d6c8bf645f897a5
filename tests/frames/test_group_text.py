"""What people say of groups, line by line."""

import re
from pathlib import Path

import numpy as np
import pytest

from lightplan.catalog import places
from lightplan.frames import groups as group_text
from lightplan.frames.calibrate import Group

EXAMPLE = Path(__file__).parents[2] / places.EXAMPLE_FILE
USUAL = Group(name="", sky="haze", facing_deg=90.0, base="open")
# As the picture's button writes them.
DAWN = "Pan:from=2026-08-12T06:00:00,to=2026-08-12T07:00:00"
DUSK = "Pan:from=2026-08-12T17:00:00,to=2026-08-12T17:00:00"


@pytest.fixture(name="read")
def _read():
    place = places.load(EXAMPLE).place("Mopane Loop")
    return lambda *lines: group_text.read(lines, USUAL, place)


def test_a_later_line_keeps_what_it_does_not_name(read):
    told = read("Pan:side=back,base=shade", DAWN, "Pan:sky=overcast,base=woodland")
    # Lit from the back, the sun is opposite the camera: 180°.
    assert told.group_of == {
        "Pan": Group("Pan", sky="overcast", facing_deg=180.0, base="woodland")
    }


def test_lines_of_other_groups_have_no_say(read):
    told = read("Pan:side=back", "Den:base=shade")
    assert told.group_of["Den"] == Group("Den", "haze", 90.0, None, "shade")
    assert told.group_of["Pan"].base == "open"


def test_every_stretch_of_a_name_counts(read):
    first, second = read("Pan:side=back", DAWN, DUSK).stretches
    assert (first.first, first.last) == (
        np.datetime64("2026-08-12T06:00"),
        np.datetime64("2026-08-12T07:00"),
    )
    assert second.first == second.last == np.datetime64("2026-08-12T17:00")


def test_of_a_side_and_a_spot_the_later_line_holds(read):
    spot = read("Pan:side=back", "Pan:spot=Ebony bend").group_of["Pan"]
    assert spot.bearing_deg == 285.0  # as the example file says
    side = read("Pan:spot=Ebony bend", "Pan:side=back").group_of["Pan"]
    assert (side.facing_deg, side.bearing_deg) == (180.0, None)


def test_blanks_round_a_setting_do_not_matter(read):
    plain = read("Pan:base=shade,side=back")
    assert read(" Pan : base = shade , side =back ") == plain


def test_a_name_may_hold_a_colon(read):
    assert list(read("Day 1: pan:base=shade").group_of) == ["Day 1: pan"]


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (
            "Pan:from=2026-08-12T09:00,to=2026-08-12T06:00",
            "to of group 'Pan' must not be before its from, '2026-08-12T09:00:00', got "
            "'2026-08-12T06:00:00'",
        ),
        (
            "Pan:side=back,spot=Ebony bend",
            "group 'Pan' must have a side or a spot, not both: got side 'back' and "
            "spot 'Ebony bend'",
        ),
    ],
)
def test_what_cannot_be_is_refused(read, line, said):
    with pytest.raises(ValueError, match=re.escape(said)):
        read(line)
