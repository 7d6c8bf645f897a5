"""Which lens: minutes of each rig, what one has over another, what a stop buys."""

from dash import html
from dash.development.base_component import Component

from lightplan import naming
from lightplan.camera import exposure
from lightplan.trip import compare, compare_words, words
from lightplan.trip.compare import Gain, RigTotal
from lightplan.trip.plan import TripPlan
from lightplan.trip.request import FACING_INDEX, LETTERS
from lightplan.web.parts import captioned, spans


def section(plan: TripPlan, span: str) -> list[Component]:
    """Return the lens question over ``span`` ("the trip", "the year")."""
    if not plan.drives:
        return []
    facing = FACING_INDEX[plan.request.facing]
    found = compare.totals(plan.drives, plan.request.rigs, facing)
    return [
        html.H2("Which lens"),
        html.P(spans(compare_words.lens_answer(plan, span)), className="said"),
        _bars(plan, found),
        *_table(plan, found, span),
    ]


def _bars(plan: TripPlan, found: tuple[RigTotal, ...]) -> html.Ul:
    """Draw each rig's minutes: those in golden light, and the rest."""
    most = max((total.usable_min for total in found), default=0) or 1
    return html.Ul(
        [
            html.Li(
                [
                    html.Span(
                        f"{LETTERS[i]} {plan.request.rigs[i].label}",
                        className=f"rig rig-{LETTERS[i]}",
                    ),
                    html.Span(
                        [
                            _bar("golden", total.golden_min / most),
                            _bar("open", (total.usable_min - total.golden_min) / most),
                        ],
                        className="bar",
                    ),
                    html.Span(
                        f"{naming.duration(total.usable_min)}, "
                        f"{naming.duration(total.golden_min)} golden"
                    ),
                ]
            )
            for i, total in enumerate(found)
        ],
        className="bars",
    )


def _bar(light: str, share: float) -> html.Span:
    return html.Span(className=f"light-{light}", style={"width": f"{share:.4%}"})


def _table(plan: TripPlan, found: tuple[RigTotal, ...], span: str) -> list[Component]:
    rigs = range(len(found))
    by_pair = {(g.rig, g.over): g for g in compare.gains(plan)}
    over = [f"over {LETTERS[i]}" for i in rigs if len(found) > 1]
    head = ["Rig", "Usable, min", "In golden light, min", "One more stop buys"]
    converter = any(total.converter_min is not None for total in found)
    if converter:
        head.append("Its converter costs, min")
    rows = []
    for i in rigs:
        total = found[i]
        cells = [
            str(total.usable_min),
            str(total.golden_min),
            compare_words.per_drive(total.stop_min) or "–",
        ]
        if converter:
            cells.append(
                "–" if total.converter_min is None else str(total.converter_min)
            )
        cells += [_over(by_pair.get((i, j))) for j in rigs if len(found) > 1]
        name = f"{words.rig_name(plan, i)}, up to {plan.request.rigs[i].ceiling_text}"
        rows.append([name, *cells])
    caption = (
        f"Over {span}. “Over B”: how many more minutes than B, and the ISO ceiling "
        "that B would need for as many."
    )
    return captioned(caption, "Which lens", [*head, *over], rows)


def _over(gain: Gain | None) -> str:
    if gain is None:
        return "–"
    sign = "+" if gain.minutes > 0 else ("−" if gain.minutes < 0 else "±")
    return f"{sign}{abs(gain.minutes)} min, {exposure.iso_text(gain.iso_to_match)}"
