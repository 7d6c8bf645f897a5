"""The results in numbers, the files dropped, and the buttons to save a cover."""

from collections.abc import Iterable, Mapping

import dash_mantine_components as dmc
from dash import html
from dash.development.base_component import Component

from lightplan import naming
from lightplan.catalog.covers import OwnCover
from lightplan.catalog.places import Catalog
from lightplan.choices import table
from lightplan.choices.raw import Raw
from lightplan.errors import as_sentence
from lightplan.frames import learning
from lightplan.frames import words as calibrate_words
from lightplan.frames.calibrate import Fit
from lightplan.frames.learning import Learned
from lightplan.light import daylight
from lightplan.web import ids
from lightplan.web.parts import captioned

Dropped = Iterable[tuple[str, int, str]]


def account(dropped: Dropped, used: int) -> list[Component]:
    """Return how many frames are used, and a line for each reason to drop others."""
    dropped = tuple(dropped)
    lost = sum(count for _, count, _ in dropped)
    head = f"{used:,} of {used + lost:,} files or rows used"
    if not lost:
        return [html.P(f"{head}.", className="muted")]
    lines = [
        html.Li(
            [
                html.Span(f"{count:,} ", className="count"),
                reason,
                html.Span(f", such as {name}", className="muted") if name else "",
            ]
        )
        for reason, count, name in dropped
    ]
    summary = f"{head}; {lost:,} dropped. Why?"
    return [html.Details([html.Summary(summary), html.Ul(lines)], open=not used)]


def doubt(learned: Learned) -> list[Component]:
    """Return the warning that another setting of the clock fits better, if one does."""
    if learned.misfit is None:
        return []
    return [html.P(calibrate_words.clock_doubt(learned.misfit), className="problem")]


def groups(learned: Learned) -> list[Component]:
    """Return a row for every group."""
    heads = (
        "Group", "Stops", "Spread", "Error", "Frames", "Bursts", "Set aside",
        "Counted from", "Sky", "Verdict",
    )  # fmt: skip
    reference = [learned.reference] if learned.reference else []
    rows = [
        *(_row(fit, verdict(fit, learned.misfit is not None)) for fit in learned.fits),
        *(_row(fit, "the reference") for fit in reference),
    ]
    caption = (
        "How many stops darker each group was metered than its base under the same "
        "sky and sun; a burst of frames counts once. The spread holds about two thirds "
        "of the bursts; the error is that of the group’s stops."
    )
    return [html.H2("Group by group"), *captioned(caption, "Groups", heads, rows)]


def _row(fit: Fit, verdict: str) -> tuple[str, ...]:
    some = fit.bursts > 0
    return (
        fit.group.name,
        _signed(fit.stops) if some else "–",
        f"± {fit.spread_stops:.2f}" if some else "–",
        f"± {fit.error_stops:.2f}" if some else "–",
        f"{fit.frames:,}",
        f"{fit.bursts:,}",
        f"{fit.outliers:,}",
        daylight.cover_named(fit.group.base).label,
        daylight.sky_named(fit.group.sky).label,
        verdict,
    )


def verdict(fit: Fit, doubted: bool) -> str:
    """Return in a few words whether a group is good enough to save.

    ``doubted`` is true if the camera's clock may be wrong.
    """
    if fit.too_few:
        return "too few bursts"
    if fit.too_wide:
        return "too wide a spread"
    if fit.implausible:
        return "not possible for a cover"
    return calibrate_words.CHECK_CLOCK if doubted else "good enough"


def _signed(stops: float) -> str:
    return naming.minus(f"{stops:+.2f}")


def keeps(
    learned: Learned, sentences: Mapping[str, str], raw: Raw, catalog: Catalog
) -> list[Component]:
    """Return a sentence for each group, and a button to save a good one."""
    items: list[Component] = []
    for number, fit in enumerate(learned.fits):  # good ones first
        text = sentences.get(fit.group.name) or calibrate_words.learned(fit)
        keep = _keep(fit, number, raw, catalog) if fit.usable else ""
        items.append(html.Li([html.P(text, className="said"), keep]))
    limits = [html.P(limit) for limit in calibrate_words.LIMITS]
    first = as_sentence(calibrate_words.CHECK_CLOCK)
    doubted = [html.P(first, className="problem")] if learned.misfit else []
    return [
        html.H2("Save what was learned"),
        *doubted,
        html.Ul(items),
        html.Div(limits, className="notes"),
    ]


def _keep(fit: Fit, number: int, raw: Raw, catalog: Catalog) -> html.Div:
    own = learning.own_cover(fit)
    return html.Div(
        [
            dmc.TextInput(
                id=ids.learn_name(number), label="Name of the cover", value=own.name
            ),
            html.Button(
                "Save as a cover",
                id=ids.learn_keep(number),
                className="save",
                n_clicks=0,
            ),
            html.Span(_kept(own, raw, catalog), className="muted"),
        ],
        className="keep",
    )


def _kept(own: OwnCover, raw: Raw, catalog: Catalog) -> list[Component | str]:
    """Return whether it is already saved, under any name, with a link to plan."""
    for cover in catalog.covers:
        if cover.model_copy(update={"name": own.name}) == own:
            to_trip = raw.replaced({table.COVER.name: cover.name}).search()
            return [
                f"Saved as {cover.name}: ",
                html.A("plan a trip with it", href=f"/{to_trip}"),
                ".",
            ]
    if before := next((c for c in catalog.covers if c.name == own.name), None):
        return [f"A cover of that name is already saved, with {before.stops:g} stops."]
    return []
