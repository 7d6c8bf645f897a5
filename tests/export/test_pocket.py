"""The pocket page as a file: small, the same each time, harmless, and the plan's."""

import datetime as dt
import json
import re
from base64 import b64encode
from dataclasses import replace
from functools import cache
from hashlib import sha256
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest

from lightplan import naming
from lightplan.camera import exposure
from lightplan.catalog import places
from lightplan.export.pocket import card
from lightplan.export.pocket import data as pocket_data
from lightplan.export.pocket import page as pocket
from lightplan.light import daylight
from lightplan.trip import plan, words
from lightplan.trip.request import Request, RigChoice, choose

planned = cache(plan.make)  # many tests look at the same trip, none changes it

EXAMPLE = Path(__file__).parents[2] / places.EXAMPLE_FILE
# What a message or a weak signal in camp still carries: asked of this file.
MOST_BYTES = 300_000
# A tenth of a degree is what is shown, so half of it is what rounding takes.
SHOWN_DEG = 0.05 + 1e-9
# Names that a careless page would take for markup, or set in the wrong order.
NAMES = (
    """Bob's "Bend" & more""",
    "<script>alert(1)</script>",
    "</script><script>alert(2)</script>",
    "</script x",
    "<!--<script x",
    "<img src=x onerror=alert(3)>",
    "Hide 🦁🐘",
    "محمية الوادي",
    "$data ${style}",
)


@pytest.fixture(scope="module")
def catalog():
    return places.load(EXAMPLE)


@pytest.fixture(scope="module")
def trip(catalog):
    """Plan from Thursday to Saturday, with a closed Friday evening between."""
    return make(catalog, "Mopane Loop", "2027-08-12", "2027-08-14")


def make(catalog, place, first, last, rigs=2):
    if isinstance(place, str):
        place = catalog.place(place)
    chosen = tuple(
        rig if isinstance(rig, RigChoice) else choose(catalog.rig(rig.name))
        for rig in (catalog.rigs[:rigs] if isinstance(rigs, int) else rigs)
    )
    dates = map(dt.date.fromisoformat, (first, last))
    return planned(Request(place, *dates, chosen))


class Read(HTMLParser):
    """The tags of a page, and the text within each kind of element."""

    def __init__(self, page):
        super().__init__()
        self.tags, self.attributes, self.open, self.texts = [], [], "", {}
        self.feed(page.decode())

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += [(tag, name, value) for name, value in attrs]
        self.open = tag

    def handle_endtag(self, tag):
        self.open = ""

    def handle_data(self, data):
        self.texts.setdefault(self.open, []).append(data)


def data_of(page):
    """Read the plan's data back, as a browser would."""
    found = re.search(
        r'<script id="plan" type="application/json">(.*?)</script>', page.decode()
    )
    return json.loads(found[1])


def unpacked(runs):
    pairs = [[int(digits, 36) for digits in run.split(".")] for run in runs.split()]
    return [value for value, length in pairs for _ in range(length)]


# --- the file -----------------------------------------------------------------


@pytest.mark.parametrize("place", ["Mopane Loop", "Two Rivers Plain"])
def test_two_weeks_with_six_rigs_stay_small(catalog, place):
    # Two Rivers Plain has three drives a day.
    made = make(catalog, place, "2027-08-02", "2027-08-15", rigs=6)
    assert len(pocket.page(made)) < MOST_BYTES


def test_the_same_plan_gives_the_same_bytes(catalog, trip):
    again = make(catalog, "Mopane Loop", "2027-08-12", "2027-08-14")
    assert pocket.page(again) == pocket.page(trip)


def test_nothing_is_fetched(trip):
    # HTML Living Standard: attributes that make a browser fetch.
    fetching = {"src", "href", "srcset", "data", "poster", "action", "background"}
    found = [a for a in Read(pocket.page(trip)).attributes if a[1] in fetching]
    assert found == [("link", "href", "data:,")]


def test_style_and_script_are_allowed_by_their_hash_alone(trip):
    # CSP Level 3, 6.7.3.3: base64 of the SHA-256 of the element's text.
    page = pocket.page(trip).decode()
    policy = re.search(r'Content-Security-Policy" content="(.*?)"', page)[1]
    kinds = dict(part.split(" ", 1) for part in policy.split("; "))
    assert kinds["default-src"] == "'none'"
    assert policy == pocket.policy()
    for kind, element in (("script-src", "script"), ("style-src", "style")):
        inline = re.findall(
            rf"<{element}(?: id=\S+ media=.*?)?>(.*?)</{element}>", page, re.S
        )
        digests = [
            b64encode(sha256(text.encode()).digest()).decode() for text in inline
        ]
        assert kinds[kind].split() == [f"'sha256-{digest}'" for digest in digests]


@pytest.mark.parametrize("name", NAMES)
def test_a_name_is_text_and_nothing_else(catalog, name):
    def page(text):
        place = catalog.place("Mopane Loop").model_copy(update={"name": text})
        rig = catalog.rig("400 prime")
        rig = rig.model_copy(update={"name": text})
        request = Request(
            place, dt.date(2027, 8, 12), dt.date(2027, 8, 13), (choose(rig),)
        )
        return pocket.page(plan.make(request))

    named, usual = page(name), page("Plain")
    assert Read(named).tags == Read(usual).tags
    assert "".join(Read(named).texts["bdi"]).count(name) == len(
        Read(usual).texts["bdi"]
    )
    assert data_of(named)["rigs"][0]["kit"] == name


def test_the_data_hold_no_sign_that_could_end_their_element(catalog):
    # HTML Living Standard, "Restrictions for contents of script elements": what
    # begins with < may end the script, or keep its end from being seen.
    place = catalog.place("Mopane Loop")
    rig = catalog.rig("400 prime").model_copy(update={"name": "".join(NAMES)})
    date = dt.date(2027, 8, 12)
    made = plan.make(Request(place, date, date, (choose(rig),)))
    data = pocket.page(made).decode().split('type="application/json">')[1]
    assert "<" not in data[: data.index("</script>\n<script>")]


# --- the data -----------------------------------------------------------------


def set_to(iso, base, shutter_s):
    """What a camera is set to: below base ISO the shutter is as much faster."""
    if iso >= base:
        return exposure.iso_text(iso)
    fits = [n for n in exposure.SHUTTER_DENOMINATORS if 1 / n <= shutter_s * iso / base]
    return f"ISO {base}, 1/{fits[0]} s"


# With bodies from ISO 64 and from ISO 800 on, one that needs less every noon.
def test_the_iso_of_every_minute_is_what_the_plan_sets(trip):
    choices = [
        replace(c, rig=c.rig.model_copy(update={"body": body}))
        for c, base in zip(trip.request.rigs, (64, 800), strict=True)
        for body in [c.rig.body.model_copy(update={"base_iso": base})]
    ]
    made = plan.make(replace(trip.request, rigs=tuple(choices)))
    data = data_of(pocket.page(made))
    low = 0
    for drive, packed in zip(made.drives, data["drives"], strict=True):
        for rig, sides in enumerate(packed["iso"]):
            base, own_s = choices[rig].rig.body.base_iso, choices[rig].shutter_s
            for side, runs in enumerate(sides):
                found = [data["isos"][i] for i in unpacked(runs)]
                needed = [float(x) for x in drive.iso[rig, side]]
                assert found == [set_to(iso, base, own_s) for iso in needed]
                low += sum(iso < base for iso in needed)
    assert low > 100


def test_an_iso_at_a_step_of_the_scale_is_that_step():
    # ISO 12232 speeds are what cameras engrave; `exposure` holds the scale.
    steps = np.array(exposure.ISO_SPEEDS, dtype=float)
    for iso in (steps, steps * (1 + 1e-12), steps * 1.01, np.array([1.0, np.inf])):
        found = [pocket_data.ISO_TEXTS[i] for i in pocket_data.iso_index(iso)]
        assert found == [exposure.iso_text(float(x)) for x in iso]


def test_the_sun_of_every_minute_is_the_plans(trip):
    data = data_of(pocket.page(trip))
    for drive, packed in zip(trip.drives, data["drives"], strict=True):
        tenths = np.cumsum(packed["altitude"])
        assert np.abs(tenths / 10 - drive.apparent_deg).max() <= SHOWN_DEG
        found = [data["bearings"][i] for i in unpacked(packed["bearing"])]
        assert found == [naming.bearing(float(a)) for a in drive.azimuth_deg]


def test_at_sun_up_and_sun_down_the_sun_is_seen_on_the_horizon(trip):
    # The day begins and ends with the upper limb on the horizon: the middle of the
    # sun is seen 16', its radius, below it (Explanatory Supplement to the Astronomical
    # Almanac). Half a minute of time, 7.5', refraction below the horizon, on which
    # models differ by 10', and tenths of a degree, 3', may stand between.
    data = data_of(pocket.page(trip))
    found = [
        np.cumsum(packed["altitude"])[minute] / 10
        for packed in data["drives"]
        for minute, text in packed["sun"]
        if text in ("sun up", "sun down")
    ]
    assert len(found) == len(trip.drives)
    assert found == pytest.approx([-16 / 60] * len(found), abs=(7.5 + 10 + 3) / 60)


def test_minutes_within_the_ceiling_run_on_after_turn_back(trip):
    # By the plan's own ISO, to the billionth, up to the closing.
    for drive, packed in zip(
        trip.drives, data_of(pocket.page(trip))["drives"], strict=True
    ):
        for rig, choice in enumerate(trip.request.rigs):
            for side, edges in enumerate(packed["within"][rig]):
                within = drive.iso[rig, side] <= choice.iso_ceiling * (1 + 1e-9)
                found = np.zeros(len(drive.utc), dtype=bool)
                for first, end in zip(edges[::2], edges[1::2], strict=True):
                    found[first:end] = True
                assert (found == within).all()


def test_a_card_keeps_the_case_of_names_a_person_wrote(trip):
    cover = daylight.Cover("big-fig", "closed canopy at Big Fig", 0.1, 0.2, 0.5)
    made = plan.make(replace(trip.request, cover=cover))
    assert "Clear, usual air, closed canopy at Big Fig, a lion" in text_of(
        pocket.page(made)
    )


def test_usable_minutes_are_the_plans(trip):
    data = data_of(pocket.page(trip))
    for drive, packed in zip(trip.drives, data["drives"], strict=True):
        for of_rig, edges in zip(drive.outcomes, packed["usable"], strict=True):
            for outcome, (expected, dark, bright) in zip(of_rig, edges, strict=True):
                last = drive.minute(drive.turn_back_utc)
                starts, ends = expected[::2], expected[1::2]
                total = sum(min(b, last) - a for a, b in zip(starts, ends, strict=True))
                assert total == outcome.usable_min
                first = [drive.minute(utc) for utc in outcome.first]
                assert [expected[0], bright[0], dark[0]] == first
                last = [drive.minute(utc) for utc in outcome.last]
                assert [expected[-1] - 1, dark[-1] - 1, bright[-1] - 1] == last


# Zones that change their clocks: by an hour, by half an hour, for a month of
# fasting, and not at all.
ZONES = (
    "Europe/Madrid", "America/Punta_Arenas", "Australia/Lord_Howe", "Africa/Casablanca",
    "Asia/Kolkata",
)  # fmt: skip


@pytest.mark.parametrize("zone", ZONES)
def test_offsets_are_those_of_the_zone_at_every_hour(catalog, iana, zone):
    place = catalog.place("Mopane Loop").model_copy(update={"timezone": zone})
    made = make(catalog, place, "2027-03-27", "2027-03-29")
    offsets = data_of(pocket.page(made))["offsets"]
    half_hours = np.arange(offsets[0][0], offsets[0][0] + 730 * 1440, 30)
    index = np.searchsorted([o[0] for o in offsets], half_hours, side="right") - 1
    found = np.array([o[1] for o in offsets])[index]
    theirs = iana(zone)
    expected = [
        dt.datetime.fromtimestamp(minute * 60, theirs).utcoffset().total_seconds() / 60
        for minute in half_hours.tolist()
    ]
    assert half_hours[found != expected].tolist() == []


# --- the cards as plain text --------------------------------------------------


def text_of(page):
    """All that the cards say, without their tags."""
    cards = page.decode().split('<section id="cards"')[1].split("<script")[0]
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", "", cards))


def test_without_a_script_each_card_says_the_answer(trip):
    said = text_of(pocket.page(trip))
    for drive in trip.drives:
        assert naming.plain(words.answer(trip, drive)).strip() in said


def test_a_closed_evening_stands_on_the_card_of_its_day(trip):
    friday = pocket.page(trip).decode().split("<h2>Fri 13 Aug, morning</h2>")[1]
    assert "Evening: closed Friday evenings." in friday.split("</article>")[0]


def test_a_closed_day_has_a_card_that_says_why(catalog):
    said = text_of(
        pocket.page(make(catalog, "Heron Marsh", "2027-08-16", "2027-08-17"))
    )
    assert "Tue 17 Aug" in said
    assert "No drive on this day. Morning: closed on Tuesdays." in said


def test_each_card_names_the_offset_of_its_own_day(catalog):
    # Clocks in France go forward on 28 March 2027 (Directive 2000/84/EC).
    said = text_of(
        pocket.page(make(catalog, "Heron Marsh", "2027-03-27", "2027-03-28"))
    )
    assert said.count("Europe/Paris, UTC+1 Gates") == 2
    assert said.count("Europe/Paris, UTC+2 Gates") == 2


def test_under_the_midnight_sun_the_card_says_that_it_does_not_set(catalog):
    # 77.5° N in June: the sun is up all day (common knowledge).
    made = make(catalog, "Ptarmigan Fjord", "2027-06-20", "2027-06-20")
    assert text_of(pocket.page(made)).count("the sun does not set") >= 2


def test_a_way_back_longer_than_the_gates_are_open_is_said(catalog):
    request = make(catalog, "Mopane Loop", "2027-08-12", "2027-08-12").request
    made = plan.make(
        Request(
            request.place, request.first, request.last, request.rigs, travel_min=400
        )
    )
    assert "the way back takes 400 min, longer" in text_of(pocket.page(made))
    assert [d["back"] for d in data_of(pocket.page(made))["drives"]] == [None, None]


def test_cautions_stand_on_the_page_and_on_every_card(trip):
    page = pocket.page(trip).decode()
    cards = len(trip.drives)
    assert page.count(card.FIRST) == cards + 1
    assert page.count(card.EYES) == cards + 1
    for caution in words.CAUTIONS[:2]:
        assert page.count(caution) == cards + 1
