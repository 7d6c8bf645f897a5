"""The page: choices on one side; sentence, rows, picture and table on the other."""

import dash_mantine_components as dmc
from dash import dcc, html

from lightplan import words
from lightplan.complaint import as_sentence
from lightplan.places import Loaded
from lightplan.web import form, ids
from lightplan.web.aria import aria
from lightplan.web.figures import GRAPH_CONFIG
from lightplan.web.state import Raw


def page(raw: Raw, loaded: Loaded, said: tuple[str, ...]) -> dmc.MantineProvider:
    """Return the whole page, its controls filled with the texts given.

    ``said`` are sentences on values of the link that had to be replaced.
    """
    return dmc.MantineProvider(
        [
            html.A("Skip to the plan", href="#plan", className="skip"),
            html.Header([html.H1("lightplan"), _theme_choice()]),
            html.Div([_choices(raw, loaded), _plan(loaded, said)], className="page"),
            dcc.Store(id=ids.LINK),
            dcc.Store(id=ids.ADDRESS),
            dcc.Store(id=ids.SELECTED, data=raw.drive),
            dcc.Store(id=ids.THEME),
            dcc.Store(id=ids.MINUTES),
            dcc.Store(
                id=ids.USUAL,
                data={
                    "places": {p.name: [p.sky, p.cover] for p in loaded.catalog.places},
                    "rigs": [r.name for r in loaded.catalog.rigs],
                },
            ),
        ],
        id=ids.PROVIDER,
        defaultColorScheme="auto",
        theme={
            "fontFamily": "ui-sans-serif, system-ui, sans-serif",
            "primaryColor": "teal",
            "defaultRadius": "sm",
        },
    )


def _theme_choice() -> html.Div:
    names = (("auto", "as the device"), ("paper", "paper"), ("dusk", "dusk"))
    return html.Div(
        dmc.SegmentedControl(
            id=ids.THEME_CHOICE,
            value="auto",
            data=[{"value": value, "label": label} for value, label in names],
            size="xs",
            persistence=True,
            persistence_type="local",
        ),
        role="group",
        className="theme-choice",
        **aria(label="Colours of the page"),
    )


def _choices(raw: Raw, loaded: Loaded) -> html.Aside:
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
                form.controls(raw, loaded.catalog), id=ids.DRAWER, className="controls"
            ),
        ],
        className="choices",
        **aria(label="Choices"),
    )


def _plan(loaded: Loaded, said: tuple[str, ...]) -> html.Main:
    return html.Main(
        [
            html.Div(id=ids.PROBLEM, role="status", className="problem"),
            *_said(loaded, said),
            html.P(id=ids.ANSWER, className="answer"),
            html.Div(id=ids.NOTES, className="notes"),
            html.Section(
                [
                    html.H2("Drives"),
                    html.P(
                        "Light inside the gates. A mark shows the minute from which "
                        "a rig can start (▸) or at which it is finished (◂).",
                        className="muted",
                    ),
                    html.Div(id=ids.DRIVES),
                ],
                className="drives",
            ),
            html.Section(
                [
                    html.H2(id=ids.CHART_TITLE),
                    html.Div(id=ids.READOUT, className="readout"),
                    html.Figure(
                        [
                            html.Div(
                                dcc.Graph(id=ids.CHART, config=GRAPH_CONFIG),
                                className="graph-box",
                            ),
                            html.Div(
                                dmc.Slider(
                                    id=ids.MINUTE,
                                    min=0,
                                    max=1,
                                    value=0,
                                    step=1,
                                    label=None,
                                    updatemode="drag",
                                    thumbLabel="Minute of the drive to read off",
                                ),
                                className="minute",
                            ),
                            html.Figcaption(id=ids.CHART_TEXT, className="muted"),
                        ],
                        className="chart",
                    ),
                ],
                className="detail",
            ),
            html.Section(id=ids.TABLES, className="tables"),
            html.Footer([html.P(caution) for caution in words.CAUTIONS]),
        ],
        id="plan",
        tabIndex=-1,
    )


def _said(loaded: Loaded, said: tuple[str, ...]) -> list[html.P]:
    sentences = [as_sentence(text) for text in said]
    if loaded.problem:
        shown = "The built-in example is shown instead."
        sentences.insert(0, f"{as_sentence(loaded.problem)} {shown}")
    if not sentences:
        return []
    if said:
        sentences.append("Replaced by the usual values; everything else is as linked.")
    return [html.P(sentence, className="problem") for sentence in sentences]
