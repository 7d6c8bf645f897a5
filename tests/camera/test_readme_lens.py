"""The README's tables on shutter, size and noise against the code they speak of.

Nothing else notices a constant that changes while its row stays. No check of the
numbers themselves: sources and other tests hold them.
"""

import re
from pathlib import Path

import numpy as np
import pytest

from lightplan.camera import animals, exposure, focus, noise, pace, picture, shake
from lightplan.catalog import kit

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
FULL_FRAME = kit.Body(name="b", format="full frame", megapixels=45)
PITCH_MM = FULL_FRAME.pixel_pitch_mm


def section(name):
    return README.split(f"\n## {name}\n")[1].split("\n## ")[0]


def table(name, columns):
    """Return the rows by their first cell: the columns in which figures are ours."""
    lines = [line for line in section(name).splitlines() if line.startswith("|")]
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in lines[2:]]
    return {row[0].split(":")[0]: " | ".join(row[i] for i in columns) for row in rows}


def rig(focal_mm):
    lens = kit.Lens(name="l", widest=((focal_mm, 6.3),))
    return kit.Rig(name="r", body=FULL_FRAME, lens=lens)


def proposed(focal_mm, pace_key, animal, hold="hand"):
    """``1/400``, at the usual distance, 30 m."""
    asked = rig(focal_mm), focal_mm, pace_key, 30.0, 3.0, hold, animal
    return exposure.shutter_text(kit.proposed_shutter_s(*asked)).removesuffix(" s")


def stops_from_practice_to_eight_in_ten():
    """Stops between 1/(2 · focal length) by hand and eight sharp frames in ten."""
    times = np.geomspace(1 / 4000, 1 / 400, 20_001)
    sharp = shake.sharp_share(times, 600, PITCH_MM, 3) >= 0.8
    return float(np.log2(1 / 1200 / times[sharp].max()))


def limit(sensor, megapixels):
    body = kit.Body(name="b", format=sensor, megapixels=megapixels)
    iso = body.iso_at(noise.USABLE_SNR, "a3")
    return exposure.iso_limit_text(iso, typed=False).removeprefix("ISO ")


def hold_stops(*keys):
    return ", ".join(
        f"{shake.HOLDS[key].label} {shake.HOLDS[key].stops:g}" for key in keys
    )


# What the README says of each assumption: figures of ours, worked out by the code, and
# those that stand for measurements, practice or the question. No other digit may stand.
def shutter_figures():
    lion = [proposed(f, "walking", "lion") for f in (250, 500)]
    cheetah = kit.sharp_share(
        rig(600), 600, 1 / 2000, "running", 30.0, 3.0, "hand", "cheetah"
    )
    # Said as "a quarter".
    assert stops_from_practice_to_eight_in_ten() == pytest.approx(0.25, abs=0.05)
    by_practice = shake.sharp_share(1 / 1200, 600, PITCH_MM, 3)
    return {
        "free hands": (
            f"{shake.HAND_DEG_S:g} °/s on each axis",
            f"1/(2 × focal length) leaves {float(by_practice) * 10:.0f} frames in 10",
            "8 in 10 ask for a quarter of a stop more",
            "45 megapixels",
        ),
        "a rest, in stops": (
            hold_stops("braced", "beanbag", "gimbal"),
            "a walking lion at 600 mm from a beanbag gets "
            f"{proposed(600, 'walking', 'lion', 'beanbag')};",
            "practice is 1/500",
        ),
        "a stabiliser, in stops": (
            f"{FULL_FRAME.stabiliser_stops:g} unless you enter it",
            "feathers at 100 %",
        ),
        "rest and stabiliser together": (
            f"up to {shake.steadier_stops('beanbag', 4.9):g}",
        ),
        "walking, trotting": (
            f"√({animals.WALK_FROUDE:g} · g · hip height), √(g · hip height)",
            f"at 250 and 500 mm a walking lion gets {' and '.join(lion)},",
            f"an elephant at 500 mm {proposed(500, 'walking', 'elephant')};",
            "practice is 1/500 and 1/1000",
        ),
        "running": (
            f"cheetah {animals.ANIMALS['cheetah'].speeds_m_s['running']:g} m/s",
            "a running cheetah at 600 mm and 30 m gets "
            f"{proposed(600, 'running', 'cheetah')};",
            f"at 1/2000, which is common, {float(cheetah) * 10:.0f} frames in 10",
        ),
        "flying": (
            "a flying eagle at 600 mm and 30 m gets "
            f"{proposed(600, 'flying', 'fish-eagle')};",
            "practice is 1/2000 to 1/3200",
        ),
        "what following leaves": (f"{pace.FOLLOWING:g} of the animal",),
        "an animal at rest": (
            f"{pace.RESTING_M_S:g} m/s, a head that turns by 20° a second; "
            f"{pace.PACES['resting'].sharp_wanted * 10:g} frames in 10",
            "a resting lion at 600 mm from a beanbag gets "
            f"{proposed(600, 'resting', 'lion', 'beanbag')};",
            "practice is 1/125 to 1/250",
        ),
    }


def other_figures():
    exposed = 2 * np.log2(6.3 / 2.8)
    gathered = picture.light_stops(600, 6.3, 400, 2.8)
    diagonal = np.hypot(36, 24) / focus.circle_mm((36, 24))
    clean, usable, mid = noise.CLEAN_SNR, noise.USABLE_SNR, noise.MID_TONE_LX_S
    limits = limit("full frame", 45), limit("APS-C", 24), limit("four thirds", 20)
    return {
        "sizes of animals": (),
        "an animal appears f/(s − f) of its size on the sensor": (),
        "lens against lens": (
            f"400 mm f/2.8 over 600 mm f/6.3 is {exposed:.1f} stops by exposure and "
            f"{gathered:.1f} on the same animal",
        ),
        "depth of field": (f"diagonal ÷ {diagonal:.0f},", "feathers at 100 %"),
        "a mid-tone at ISO S gets 10/S lx·s; clean is 40, acceptable 10 of signal over noise": (
            f"gets {mid:g}/S lx·s; clean is {clean:g}, acceptable {usable:g} of signal",
            "1 to 3 stops",  # of noise reduction: judgement
        ),
        "10,753 photons per lx·s and µm², of which a photosite counts a fifth": (
            f"{noise.PHOTONS_LX_S_UM2:,.0f} photons per lx·s and µm²",
        ),
        "an A3 print, 42 cm at 70 px per cm": (
            f"42 cm at {noise.OUTPUTS['a3'].width_px / 42:g} px per cm",
            "noise is acceptable to about ISO {} on 24 × 36, {} on APS-C, {} on four thirds".format(
                *limits
            ),
            "an A3 print",
        ),
    }


TABLES = {
    "What the shutter rests on": ((1, 3), shutter_figures),
    "What size, sharpness and noise rest on": ((0, 2), other_figures),
}


@pytest.mark.parametrize("name", TABLES)
def test_every_figure_of_the_readmes_tables_is_what_the_code_works_out(name):
    columns, figures = TABLES[name]
    ours, shown = figures(), table(name, columns)
    assert list(shown) == list(ours)
    for row, text in shown.items():
        for phrase in sorted(ours[row], key=len, reverse=True):
            assert phrase in text, row
            text = text.replace(phrase, "")
        left = text.replace("0.5 to 3 °/s", "")
        assert re.findall(r"\d", left) == [], (row, left)


def test_the_readmes_words_on_shares_and_fractions_are_the_codes():
    text = section("What the shutter rests on")
    walking, resting = (pace.PACES[p].sharp_wanted * 10 for p in ("walking", "resting"))
    assert f"so that {walking:g} frames in 10 (of an animal at rest" in text
    assert f"holds its pose, {resting:g})" in text
    assert f"sharp to {kit.BLUR_PX:g} pixels at 100 %" in text
    # The limit of CIPA DC-011 is 63 µm.
    assert f"is {0.063 / PITCH_MM:.0f} px of {PITCH_MM * 1000:.1f} µm" in text
    # "a quarter of the weaker", "half of the greatest speed", "√(g · hip height)",
    # "a fifth", "a head that turns by 20° a second, its nose 0.3 m from the neck".
    assert shake.steadier_stops("hand", 4) + 1 / 4 == shake.steadier_stops("braced", 4)
    assert animals.FLIGHT_SHARE == 1 / 2
    assert animals.TROT_FROUDE == 1
    assert noise.EFFICIENCY == 1 / 5
    assert pytest.approx(np.radians(20) * 0.3, abs=0.01) == pace.RESTING_M_S
