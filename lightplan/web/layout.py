"""The frame of every page: header, choices on one side, answers on the other."""

from collections.abc import Callable
from typing import Any

import dash_mantine_components as dmc
from dash import dcc, html
from dash.development.base_component import Component

from lightplan import naming
from lightplan.catalog.places import Catalog, Loaded
from lightplan.choices import table, trip
from lightplan.choices.raw import Raw
from lightplan.errors import as_sentence
from lightplan.stop import words as stop_words
from lightplan.trip import words
from lightplan.trip.request import LETTERS, Request
from lightplan.web import form, ids, rig_form
from lightplan.web.pages import PAGES, Visit
from lightplan.web.parts import aria


def plan_controls(page: str, raw: Raw, catalog: Catalog) -> list[Component]:
    """Return the controls of a page about a plan: its choices and its rigs."""
    return [
        *form.asked(page, raw, catalog),
        rig_form.rigs(raw, catalog),
        form.folded(page, raw, catalog),
    ]


def plan_summary(request: Request, year: str = "", side: bool = True) -> str:
    """Return the choices on one line, for the closed drawer on a phone."""
    first, last = naming.day_name(request.first), naming.day_name(request.last)
    when = year or f"{first} – {last}"
    rigs = " ".join(LETTERS[: len(request.rigs)])
    animal = f"{request.pace}, {request.facing}" if side else request.pace
    return f"{request.place.name} · {when} · {animal} · rigs {rigs}"


def frame(
    page: str,
    raw: Raw,
    loaded: Loaded,
    controls: list[Component],
    main: html.Main,
) -> dmc.MantineProvider:
    """Return a page: header, choices on one side, answers on the other.

    Choices that this page does not show are carried along in its links.
    """
    asked = html.Div([*controls, main])
    carried = [name for name in table.BY_NAME if name not in asked]
    body = [
        html.Div(
            [
                html.Div(id=ids.PROBLEM, role="status", className="problem"),
                _choices(controls),
                main,
            ],
            className="page",
        ),
        dcc.Store(id=ids.PAGE, data=page),
        dcc.Store(id=ids.LINK),
        dcc.Store(id=ids.TYPED),
        dcc.Store(id=ids.ADDRESS),
        dcc.Store(id=ids.SELECTED, data=raw.drive),
        # Callbacks name every field, and links keep the choices of other pages.
        *(dcc.Input(id=f, type="hidden", value=raw[f]) for f in carried),
        dcc.Store(
            id=ids.USUAL,
            data={
                "places": {
                    p.name: [*trip.sky_and_air(p.sky), p.cover]
                    for p in loaded.catalog.places
                },
                "rigs": [r.name for r in loaded.catalog.rigs],
            },
        ),
    ]
    pages = html.Nav(links(page, raw), **aria(label="Pages"))
    return shell(pages, body, "Skip to the plan", "#plan")


def shell(
    pages: html.Nav, body: list[Component], skip: str, target: str
) -> dmc.MantineProvider:
    """Return a page's body within its header; the first link skips to a target."""
    return dmc.MantineProvider(
        [
            html.A(skip, href=target, className="skip"),
            html.Header(
                [
                    html.H1("lightplan"),
                    pages,
                    _theme_choice(),
                    html.Div(id=ids.POPUPS),
                ]
            ),
            *body,
            dcc.Store(id=ids.THEME),
        ],
        id=ids.PROVIDER,
        defaultColorScheme="auto",
        theme={
            "fontFamily": "ui-sans-serif, system-ui, sans-serif",
            "primaryColor": "teal",
            "defaultRadius": "sm",
            "components": {"Select": {"defaultProps": _LIST}},
        },
    )


# The list scrolls by itself, so that arrow keys move it; its arrow says nothing.
_LIST = {"withScrollArea": False, "rightSectionProps": aria(hidden="true")}


def links(
    current: str, raw: Raw, id_of: Callable[[str], dict[str, Any]] = ids.nav_link
) -> list[html.A]:
    """Return links to all pages, with the choices."""
    return [
        html.A(
            page.title,
            id=id_of(page.key),
            href=page.path + raw.search(),
            **aria(current="page" if page.key == current else "false"),
        )
        for page in PAGES
        if page.in_header
    ]


def _theme_choice() -> html.Div:
    names = (("auto", "as the device"), ("paper", "paper"), ("dusk", "dusk"))
    return html.Div(
        dmc.SegmentedControl(
            id=ids.THEME_CHOICE,
            value="auto",
            data=[{"value": value, "label": label} for value, label in names],
            size="xs",
            transitionDuration=0,
            persistence=True,
            persistence_type="local",
            **aria(label="Colours of the page"),
        ),
        className="theme-choice",
    )


def _choices(controls: list[Component]) -> html.Aside:
    return html.Aside(
        [
            html.Button(
                [html.Span(id=ids.SUMMARY), html.Span("change", className="change")],
                id=ids.DRAWER_BUTTON,
                className="drawer-button",
                n_clicks=0,
                **aria(expanded="false", controls=ids.DRAWER),
            ),
            html.Div(
                [
                    *controls,
                    html.Button(
                        "Done", id=ids.DRAWER_DONE, className="drawer-done", n_clicks=0
                    ),
                ],
                id=ids.DRAWER,
                className="controls",
            ),
        ],
        className="choices",
        **aria(label="Choices"),
    )


def replaced_values(visit: Visit) -> list[html.P]:
    """Return what was wrong with the file or the link, a sentence each."""
    sentences = [as_sentence(text) for text in visit.problems]
    if problem := visit.loaded.problem:
        shown = "The built-in example is shown instead."
        sentences.insert(0, f"{as_sentence(problem)} {shown}")
    if not sentences:
        return []
    if visit.problems:
        sentences.append("Replaced by the usual values; the rest is as in the link.")
    return [html.P(sentence, className="problem") for sentence in sentences]


def stop_cautions() -> list[html.P]:
    """Return the cautions beside a picture that says which way to look."""
    return [html.P(text, className="stop-caution") for text in stop_words.CAUTIONS]


def cautions() -> html.Footer:
    """Return the usual cautions."""
    return html.Footer([html.P(caution) for caution in words.CAUTIONS])
