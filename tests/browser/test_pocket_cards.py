"""The printed cards: a page for each drive or day, with all of it, in black."""

import datetime as dt
import io
import itertools
import unicodedata
from collections.abc import Callable
from typing import NamedTuple

import pytest
import wild
from playwright.sync_api import Browser, Page
from pypdf import PdfReader

from lightplan import naming
from lightplan.camera import exposure
from lightplan.catalog.gates import Closure, Gates
from lightplan.catalog.places import Catalog
from lightplan.export.pocket import card
from lightplan.export.pocket import page as pocket
from lightplan.trip import ladder_words, plan, words
from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.trip.request import FACING_INDEX, FACINGS, Request, choose

# ISO 216: A5 is 148 mm × 210 mm, A4 210 mm × 297 mm. PDF counts points, 72 an inch.
A5_MM, A4_LANDSCAPE_MM = (148, 210), (297, 210)
POINT_MM = 25.4 / 72
SIZE_MM = 0.5  # Chromium rounds paper to CSS pixels, a quarter of a millimetre
PX_MM = 25.4 / 96  # CSS Values and Units 4, 6.2
MARGIN_MM = 8  # of the page's own @page
# Timetables and leaflets are set in 5 pt and more: common practice.
LEAST_PT = 5
MANY = (
    "150–600 zoom", "400 prime", "100–400 zoom, APS-C", "600 prime", "600 prime ×1.4",
    "300 prime ×2",
)  # fmt: skip
LONG_REASON = "the river has taken the bridge, the road and the way round; " * 2


class Trip(NamedTuple):
    """A trip of the example's places; gates and a closure where not its own."""

    place: str
    first: str
    last: str
    rigs: tuple[str, ...] = MANY[:3]
    gates: Gates | None = None
    closure: str = ""


TRIPS = {
    "usual": Trip("Mopane Loop", "2027-08-12", "2027-08-14"),
    "eight hours": Trip(
        "Mopane Loop", "2027-08-12", "2027-08-13", MANY,
        Gates(morning=("05:00", "13:00"), evening=("13:30", "21:30")),
    ),
    "sixteen hours": Trip(
        "Mopane Loop", "2027-08-12", "2027-08-12", MANY, Gates(morning=("04:00", "20:00"))
    ),
    "three a day": Trip("Two Rivers Plain", "2027-09-01", "2027-09-02", MANY),
    "midnight sun": Trip("Ptarmigan Fjord", "2027-06-20", "2027-06-21"),
    "closed Tuesday": Trip("Heron Marsh", "2027-08-16", "2027-08-18"),
    "closed throughout": Trip("Teak Hollow", "2027-01-18", "2027-01-19"),
    "a long reason": Trip(
        "Mopane Loop", "2027-08-12", "2027-08-12", MANY, closure=LONG_REASON
    ),
}  # fmt: skip


ALIKE = ("eight hours", "closed throughout")
NAMES = [wild.again(name) if name in ALIKE else name for name in TRIPS]


@pytest.fixture(scope="module")
def made(catalog: Catalog) -> Callable[[str], TripPlan]:
    def plan_of(name: str) -> TripPlan:
        trip = TRIPS[name]
        place = catalog.place(trip.place)
        if trip.gates:
            place = place.model_copy(update={"gates": (trip.gates,), "closures": ()})
        if trip.closure:
            shut = Closure(weekday="Thursday", session="evening", reason=trip.closure)
            place = place.model_copy(update={"closures": (shut,)})
        rigs = tuple(choose(catalog.rig(rig)) for rig in trip.rigs)
        dates = map(dt.date.fromisoformat, (trip.first, trip.last))
        return plan.make(Request(place, *dates, rigs))

    return plan_of


@pytest.fixture(scope="module")
def hopeless(catalog: Catalog) -> TripPlan:
    """Plan for a rig that no daylight is bright enough for."""
    rig = choose(catalog.rig("400 prime"), shutter_s=1 / 32000, iso_ceiling=50)
    date = dt.date(2027, 8, 12)
    return plan.make(Request(catalog.place("Mopane Loop"), date, date, (rig,)))


@pytest.fixture
def opened(browser: Browser, tmp_path) -> Callable[[TripPlan, str], Page]:
    """Open a trip's file with cards of a paper chosen."""
    pages = []

    def open_file(trip: TripPlan, paper: str) -> Page:
        file = tmp_path / "trip.html"
        file.write_bytes(pocket.page(trip))
        page = browser.new_page(viewport={"width": 390, "height": 844})
        pages.append(page)
        page.goto(file.as_uri())
        if paper == "a4":
            page.get_by_role("button", name="A4, a day each").click()
        return page

    yield open_file
    for page in pages:
        page.close()


class Sheet(NamedTuple):
    """A page as it was printed: its size, and its words parted by single spaces."""

    size_mm: tuple[float, float]
    text: str


def printed(page: Page) -> list[Sheet]:
    pdf = PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True)))
    return [
        Sheet(
            (float(p.mediabox.width) * POINT_MM, float(p.mediabox.height) * POINT_MM),
            # Letters that a font joins (ﬁ) come back as one sign.
            " ".join(unicodedata.normalize("NFKC", p.extract_text()).split()),
        )
        for p in pdf.pages
    ]


def cards_of(trip: TripPlan) -> list[str]:
    """Head of each card: a drive's name, or the name of a day without any."""
    found = []
    for day in trip.days:
        drives = [d for d in trip.drives if d.date == day.date]
        found += [d.name for d in drives]
        found += [] if drives else [naming.day_name(day.date)]
    return found


FIT = """() => [...document.querySelectorAll('.card')].map((card) => {
    const box = card.getBoundingClientRect();
    const parts = [...card.querySelectorAll('*')].filter((e) => e.checkVisibility())
        .map((e) => e.getBoundingClientRect());
    return [
        Math.max(...parts.map((part) => part.right)) - box.right,
        Math.max(...parts.map((part) => part.bottom)) - box.bottom,
        Math.min(...[...card.querySelectorAll('*')]
            .filter((e) => e.checkVisibility() && e.textContent.trim())
            .map((e) => parseFloat(getComputedStyle(e).fontSize) * 0.75)),
        card.querySelector('.notes').getBoundingClientRect().height,
    ];
})"""


def fits(page: Page, width_mm: float) -> None:
    """Hold that nothing runs over a card's edge and that its type can be read."""
    page.evaluate("readyCards()")
    inside_px = round((width_mm - 2 * MARGIN_MM) / PX_MM)
    page.set_viewport_size({"width": inside_px, "height": 800})
    page.emulate_media(media="print")
    for right_px, bottom_px, type_pt, notes_px in page.evaluate(FIT):
        assert right_px <= 0.5
        assert bottom_px <= 0.5
        assert type_pt >= LEAST_PT - 1e-6  # the least of the card
        assert notes_px * PX_MM >= 7  # a line that a hand can write on


@pytest.mark.parametrize("name", NAMES)
def test_every_drive_has_an_a5_page_to_itself_and_fits_it(name, made, opened):
    trip = made(name)
    page = opened(trip, "a5")
    sheets = printed(page)
    assert len(sheets) == len(cards_of(trip))
    for sheet, head in zip(sheets, cards_of(trip), strict=True):
        assert sheet.size_mm == pytest.approx(A5_MM, abs=SIZE_MM)
        assert sheet.text.startswith(head)
        assert card.FIRST in sheet.text
        assert sheet.text.count("Notes") == 1
    fits(page, A5_MM[0])


@pytest.mark.parametrize("name", NAMES)
def test_every_day_has_an_a4_page_to_itself_and_fits_it(name, made, opened):
    trip = made(name)
    page = opened(trip, "a4")
    sheets = printed(page)
    assert len(sheets) == len(trip.days)
    for sheet, day in zip(sheets, trip.days, strict=True):
        assert sheet.size_mm == pytest.approx(A4_LANDSCAPE_MM, abs=SIZE_MM)
        for drive in trip.drives:
            on_it = drive.name in sheet.text
            assert on_it == (drive.date == day.date)
    fits(page, A4_LANDSCAPE_MM[0])


def rows_of(page: Page, drive: int, kind: str) -> list[list[str]]:
    """Read a table of a card's, row by row, as a person would."""
    return page.evaluate(
        """([drive, kind]) => {
            fillCards();
            const table = `.card[data-drive="${drive}"] .${kind} tbody tr`;
            return [...document.querySelectorAll(table)].map((row) =>
                [...row.cells].map((cell) => cell.innerHTML.replace(/<br>/g, ' ')
                    .replace(/<s>/g, '!').replace(/<[^>]+>/g, '').replace(/&nbsp;/g, ' ')));
        }""",
        [drive, kind],
    )


def outcome_text(trip: TripPlan, drive: DrivePlan, rig: int, side: int) -> str:
    outcome = drive.outcomes[rig][side]
    shown = ladder_words.slower(drive, outcome, trip.request.rigs[rig])
    if len(trip.request.rigs) > 3:  # no room for them
        shown = ()
    rungs = "".join(f" {ladder_words.rung(trip, drive, each)}" for each in shown)
    if outcome.first is None:
        return ("only in more light" if outcome.possible else "not usable") + rungs
    first, last = (trip.clock(s.utc) for s in (outcome.first, outcome.last))
    text = f"{first}–{last} {outcome.usable_min} min"
    start = words.first_spread(trip, drive, outcome)
    end = words.last_spread(trip, drive, outcome)
    return (
        text
        + (f" start{start}" if start else "")
        + (f" end{end}" if end else "")
        + rungs
    )


@pytest.mark.parametrize("name", ["usual", "three a day", "midnight sun"])
def test_first_and_last_minutes_of_each_rig_are_the_plans(name, made, opened):
    trip = made(name)
    page = opened(trip, "a5")
    for i, drive in enumerate(trip.drives):
        wanted = [
            [
                f"{words.rig_name(trip, rig)} up to ISO {choice.iso_ceiling:g}, "
                f"{choice.rig.name}",
                *(outcome_text(trip, drive, rig, side) for side in range(3)),
            ]
            for rig, choice in enumerate(trip.request.rigs)
        ]
        assert rows_of(page, i, "rigs") == wanted


def iso_cell(drive: DrivePlan, iso: float, ceiling: float) -> str:
    text = exposure.iso_text(max(iso, 100.0))  # the base ISO of the bodies
    if text.startswith("over"):
        return "–"
    return ("" if iso <= ceiling * (1 + 1e-9) else "!") + text.removeprefix("ISO ")


def test_needed_iso_every_ten_minutes_is_the_plans_from_every_side(made, opened):
    trip = made("usual")
    page = opened(trip, "a5")
    for i, drive in enumerate(trip.drives):
        tens = [m for m, utc in enumerate(drive.utc) if trip.clock(utc)[-1] == "0"]
        wanted = [
            [trip.clock(drive.utc[m])]
            + [
                iso_cell(drive, float(drive.iso[rig, side, m]), choice.iso_ceiling)
                for rig, choice in enumerate(trip.request.rigs)
                for side in range(3)
            ]
            for m in tens
        ]
        found = rows_of(page, i, "minutes")
        assert [[row[0], *row[3:]] for row in found] == wanted


def test_many_rigs_are_printed_from_the_chosen_side(made, opened):
    trip = made("eight hours")
    page = opened(trip, "a5")
    side = FACING_INDEX[trip.request.facing]
    drive = trip.drives[0]
    found = rows_of(page, 0, "minutes")
    assert [row[0] for row in found[:3]] == ["05:00", "05:10", "05:20"]
    assert len(found) == 8 * 6 + 1
    for row, minute in zip(found, range(0, 481, 10), strict=True):
        assert row[3:] == [
            iso_cell(drive, float(drive.iso[rig, side, minute]), choice.iso_ceiling)
            for rig, choice in enumerate(trip.request.rigs)
        ]
    caption = page.locator(".card .minutes caption").first.text_content()
    assert FACINGS[side].label in caption


@pytest.mark.parametrize(
    ("name", "step"),
    [("usual", 10), ("eight hours", 10), ("midnight sun", 10), ("sixteen hours", 20)],
)
def test_a_card_says_how_far_apart_its_rows_are(name, step, made, opened):
    page = opened(made(name), "a5")
    times = [row[0] for row in rows_of(page, 0, "minutes")]
    apart = {
        (int(b[:2]) * 60 + int(b[3:]) - int(a[:2]) * 60 - int(a[3:])) % 1440
        for a, b in itertools.pairwise(times[1:-1])
    }
    assert apart == {step}
    caption = page.locator(".card .minutes caption").first
    assert f"every {step} minutes" in caption.text_content()


def test_gates_light_and_the_way_back_are_on_the_sheet(made, opened):
    trip = made("usual")
    sheets = printed(opened(trip, "a5"))
    for sheet, drive in zip(sheets, trip.drives, strict=True):
        opens, closes, back = (
            trip.clock(utc)
            for utc in (
                drive.opens_utc, drive.closes_utc, drive.turn_back_utc,
            )
        )  # fmt: skip
        assert f"Gates {opens}–{closes}; turn back by {back}" in sheet.text
        for s in drive.windows:
            times = f"{trip.clock(s.start_utc)}–{trip.clock(s.end_utc)}"
            # A line may break after the dash.
            found = sheet.text.lower().replace("– ", "–")
            assert f"{s.window.label} {times}" in found


def test_while_cards_are_made_ready_the_button_says_so(made, opened):
    page = opened(made("usual"), "a5")
    # What the button says at each step; an impatient second tap does nothing.
    said = page.evaluate("""() => new Promise((done) => {
        const said = [];
        const note = (step) => said.push([step, byId('print').textContent]);
        const ready = fillCards;
        fillCards = () => { note('ready'); ready(); };
        print = () => { note('print'); setTimeout(() => done(said), 300); };
        byId('print').click();
        byId('print').click();
    })""")
    assert said == [["ready", "Preparing the cards …"], ["print", "Print the cards"]]


def test_a_rig_without_a_usable_minute_is_printed_as_that(hopeless, opened):
    sheets = printed(opened(hopeless, "a5"))
    assert len(sheets) == len(hopeless.drives)
    assert all(sheet.text.count("not usable") == 3 for sheet in sheets)


def test_what_is_printed_is_black_on_white_whatever_the_screen_wears(made, opened):
    page = opened(made("usual"), "a5")
    page.get_by_role("button", name="Lamp").click()
    page.evaluate("readyCards()")
    page.emulate_media(media="print")
    inks = page.evaluate(
        """() => [...new Set([...document.querySelectorAll('.card, .card *')]
            .map((element) => getComputedStyle(element).color))]"""
    )
    assert inks == ["rgb(0, 0, 0)"]
    ground = page.evaluate("getComputedStyle(document.body).backgroundColor")
    assert ground == "rgb(255, 255, 255)"
