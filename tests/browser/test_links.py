"""An address carries every choice, and leaves the history alone."""

import pytest
from playwright.sync_api import expect

from lightplan.choices.raw import OWN, Raw

CHANGES = {
    "place": "Heron Marsh",
    "from": "2027-03-26",
    "to": "2027-03-29",
    "pace": "flying",
    "side": "back",
    "sky": "overcast",
    "cover": "woodland",
    "back": "40",
    "distance": "60",
    "blur": "2.5",
    "hold": "beanbag",
    "animal": "heron",
    "output": "web",
    "air": "clean",
    "gold": "golden",
    "warm": "4000",
}
RIGS = (("600 prime", "600", "8", "1600", "12800"), ("400 prime ×2",))


DRIVE = "2027-03-27-evening"
TYPED = {
    "Place": "Heron Marsh",
    "First day": "2027-03-26",
    "Last day": "2027-03-29",
    "Sky": "overcast",
    "Over the animal": "woodland",
    "Minutes back to the gate": "40",
    "Distance, m": "60",
    "Blur allowed, px": "2.5",
    "How you hold it": "beanbag or door",
    "Animal": "heron",
    "What the picture is for": "web, 2048 px",
    "Air": "clean air",
    "Warm light is below, K": "4000",
    "Rig A": "600 prime",
    "Rig B": "400 prime ×2",
}
OF_RIG_A = {
    "Focal length, mm": "600",
    "Aperture": "f/8",
    "Shutter": "1/1600",
    "ISO ceiling": "ISO 12800",
}
PAINTED = """() => [getComputedStyle(document.body).backgroundColor,
    document.querySelector('#chart .js-plotly-plot').layout.paper_bgcolor]"""
# Keeps every theme that the page has had since it began to load, in order.
WATCH = """window.themes = [];
    new MutationObserver(() => {
        const theme = document.documentElement?.dataset.theme;
        if (theme && theme !== window.themes.at(-1)) window.themes.push(theme);
    }).observe(document, {subtree: true, attributes: true, childList: true});"""


def controls(page) -> dict[str, object]:
    """What the controls show, by their labels; those out of sight are made first."""
    page.locator("aside details").evaluate_all(
        "all => all.forEach((part) => { part.open = true; })"
    )

    def value(label: str, within: str) -> str:
        named = page.locator(within).get_by_label(label, exact=True)
        return named.and_(page.locator("input")).input_value()

    return {
        **{label: value(label, "aside") for label in TYPED},
        **{label: value(label, "#slot-0") for label in OF_RIG_A},
        "pressed": page.locator("aside input[type=radio]:checked").evaluate_all(
            "all => all.map((radio) => radio.value)"
        ),
    }


@pytest.fixture(scope="module")
def seen(visitors, link, shows, press, drawn):
    """What a shared link shows, then in dusk, then loaded again on a light device."""
    with visitors() as visit:
        page = visit(link(CHANGES, RIGS, drive=DRIVE))
        shows(page)
        first = {"controls": controls(page), "url": page.url}
        first["painted"] = page.evaluate(PAINTED)
        press(page, "Colours of the page", "dusk")
        page.wait_for_function(
            f"(paper) => ({PAINTED})().every((colour, i) => colour !== paper[i])",
            arg=first["painted"],
        )
        dusk = {"painted": page.evaluate(PAINTED)}
        page.add_init_script(WATCH)
        page.reload()
        drawn(page)
        shows(page)
        again = {"controls": controls(page), "url": page.url}
        again["painted"] = page.evaluate(PAINTED)
        again["themes"] = page.evaluate("window.themes")
        yield first, dusk, again


@pytest.mark.parametrize("when", [0, 2], ids=["shared", "loaded again"])
def test_a_link_restores_every_choice(when, seen):
    expected = {**TYPED, **OF_RIG_A, "pressed": ["flying", "back", "golden"]}
    assert seen[when]["controls"] == expected


@pytest.mark.parametrize("when", [0, 2], ids=["shared", "loaded again"])
def test_the_address_goes_on_carrying_every_choice(when, seen):
    carried = Raw.from_search(seen[when]["url"].split("?")[1])
    assert {name: carried[name] for name in CHANGES} == CHANGES
    assert carried.rigs == tuple((*rig, "", "", "", "")[:5] for rig in RIGS)
    assert carried.drive == DRIVE


def test_a_chosen_theme_colours_page_and_picture(seen):
    first, dusk, _ = seen
    for before, after in zip(first["painted"], dusk["painted"], strict=True):
        assert before != after


def test_a_chosen_theme_survives_a_reload(seen):
    _, dusk, again = seen
    assert again["painted"] == dusk["painted"]


def test_a_chosen_theme_is_there_before_anything_is_drawn(seen):
    *_, again = seen
    assert again["themes"] == ["dusk"]


def test_a_damaged_link_says_what_was_replaced_and_keeps_the_rest(visit, link, shows):
    good = {"place": "Heron Marsh", "pace": "flying", "to": "2027-08-13"}
    page = visit(link({**good, "sky": "purple", "back": "9999"}))
    said = page.locator("p.problem")
    expect(said).to_have_count(3)
    expect(said.nth(0)).to_contain_text("'purple'")
    expect(said.nth(1)).to_contain_text("0 to 600 min")
    expect(said.nth(2)).to_contain_text("Replaced by the usual values")
    shows(page)
    carried = Raw.from_search(page.url.split("?")[1])
    assert {name: carried[name] for name in good} == good
    assert (carried["sky"], carried["back"]) == ("clear", "25")


def test_choices_add_nothing_to_the_history_and_back_leaves(
    visit, link, press, choose, in_address
):
    page = visit(link({"to": "2027-08-13"}, (("400 prime",),)))
    before = page.evaluate("history.length")
    press(page, "The animal is", "running")
    in_address(page, "pace", "running")
    choose(page, "Sky", "overcast")
    in_address(page, "sky", "overcast")
    page.locator(".drive-row button").nth(1).click()
    in_address(page, "drive", "2027-08-13-morning")
    assert page.evaluate("history.length") == before
    page.go_back()
    assert page.url == "about:blank"


def test_coordinates_stay_as_typed_in_the_form_and_go_rounded_into_the_address(
    visit, link
):
    # Only a browser writes the address, and could write back into the field.
    page = visit(link({"place": OWN, "zone": "Africa/Lusaka"}))
    field = page.get_by_label("Latitude, °N")
    field.fill("-13.17341")
    page.wait_for_url("**lat=-13.17&**")
    expect(field).to_have_value("-13.17341")
    expect(page.locator("#answer")).to_contain_text("Thu 12 Aug")
