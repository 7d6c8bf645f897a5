"""Trees of components as markup: nothing lost, nothing let through."""

from html.parser import HTMLParser

import dash_mantine_components as dmc
import pytest
import wild
from dash import html

from lightplan.catalog import places
from lightplan.trip import compare
from lightplan.web import markup
from lightplan.web.trip import booking, lenses, rows, tables
from lightplan.web.trip import page as trip


class Parsed(HTMLParser):
    """What a browser makes of markup: elements with their attributes, and texts."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.said = ""
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        if tag != "br":
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.said += data


RENAMED = {"className": "class", "tabIndex": "tabindex"}


def attributes(component) -> dict[str, str]:
    props = component.to_plotly_json()["props"]
    style = props.get("style", {})
    own = {
        RENAMED.get(name, name): str(value)
        for name, value in props.items()
        if name not in ("children", "style")
    }
    written = ";".join(f"{name}:{value}" for name, value in style.items())
    return own | ({"style": written} if style else {})


@pytest.fixture(scope="module")
def parts(trip):
    """What the trip's page sends as markup."""
    of = trip("Mopane Loop", "2027-08-12", "2027-08-13", rigs=3)
    drive = of.drives[0]
    return [
        *rows.sections(of, drive.key, frozenset({drive.key})),
        *lenses.section(of, "the trip"),
        *booking.table(of, compare.WANTS[0].key, frozenset({drive.key})),
        *tables.rig_table(of, drive),
        *tables.minute_table(of, drive),
    ]


def test_markup_has_every_element_attribute_and_text_of_its_tree(parts, walk, text_of):
    found = Parsed(markup.to_html(parts))
    expected = [(type(c).__name__.lower(), attributes(c)) for c in walk(parts)]
    assert found.elements == expected
    assert found.said == text_of(parts)


def test_what_is_made_quickly_is_what_dash_makes():
    # Dash's own constructor is the reference.
    given = {"className": "x", "scope": "row", "aria-label": "y"}
    made, dashs = markup.quick(html.Th, ["a"], **given), html.Th(["a"], **given)
    assert made.to_plotly_json() == dashs.to_plotly_json()
    assert markup.quick(html.Th).to_plotly_json() == html.Th().to_plotly_json()


# "Escape" the five characters wherever a text goes: OWASP's cheat sheet on
# cross-site scripting, rules for HTML bodies and quoted attributes; from memory.
NASTY = "<img src=x onerror=alert(1)> & \"'</li>"


def test_a_text_is_a_text_in_a_body_and_in_an_attribute():
    tree = html.Li([NASTY, html.Span(NASTY)], className=NASTY, **{"aria-label": NASTY})
    found = Parsed(markup.to_html(tree))
    assert found.elements == [
        ("li", {"class": NASTY, "aria-label": NASTY}),
        ("span", {}),
    ]
    assert found.said == NASTY * 2


def test_markup_in_a_strangers_names_is_shown_as_it_is_typed(usual):
    closure = {"from": "01-01", "to": "03-01", "reason": wild.MARKUP}
    place = {**wild.TABLES["places"][0], "closures": [closure]}
    hostile = places.read(wild.document({**wild.TABLES, "places": [place]}), "")
    days = {"from": "2027-02-01", "to": "2027-02-03"}
    raw = usual({"place": place["name"], **days})
    found = Parsed(markup.to_html(trip.rows(raw, hostile)["drives"]))
    assert wild.MARKUP in found.said
    tags = {tag for tag, _ in found.elements}
    assert tags == {"section", "div", "h3", "ul", "li", "span"}


@pytest.mark.parametrize(
    "lost",
    [
        dmc.Slider(id="x"),
        html.Button("x", n_clicks=0),
        html.A("x", href="javascript:alert(1)"),
        html.A("x", href="//elsewhere"),
        object(),
    ],
    ids=["control", "callback's button", "script", "other host", "no component"],
)
def test_what_markup_would_lose_or_must_not_hold_is_refused(lost):
    with pytest.raises(TypeError, match=r"markup"):
        markup.to_html(html.Div([lost]))
