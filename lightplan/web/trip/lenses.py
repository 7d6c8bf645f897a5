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
    gains = compare.gains(plan, one_picture=True)
    answer = compare_words.lens_answer(plan, span, found, gains)
    return [
        html.H2("Which lens"),
        html.P(spans(answer), className="said"),
        _bars(plan, found),
        *_table(plan, found, gains, span),
    ]


def _bars(plan: TripPlan, found: tuple[RigTotal, ...]) -> html.Ul:
    """Draw each rig's minutes at one picture: those in golden light, and the rest."""
    most = max((total.picture_min for total in found), default=0) or 1
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
                            _bar("golden", total.picture_golden_min / most),
                            _bar(
                                "open",
                                (total.picture_min - total.picture_golden_min) / most,
                            ),
                        ],
                        className="bar",
                    ),
                    html.Span(
                        f"{naming.duration(total.picture_min)}, "
                        f"{naming.duration(total.picture_golden_min)} golden"
                    ),
                ]
            )
            for i, total in enumerate(found)
        ],
        className="bars",
    )


def _bar(light: str, share: float) -> html.Span:
    return html.Span(className=f"light-{light}", style={"width": f"{share:.4%}"})


def _table(
    plan: TripPlan, found: tuple[RigTotal, ...], gains: tuple[Gain, ...], span: str
) -> list[Component]:
    rigs = range(len(found))
    by_pair = {(g.rig, g.over): g for g in gains}
    over = [f"over {LETTERS[i]}" for i in rigs if len(found) > 1]
    crops = compare_words.crops(plan)
    head = ["Rig"]
    if crops:
        head += ["Same picture, min", "Own frame, min", "One more stop buys"]
    else:
        head += ["Usable, min", "In golden light, min", "One more stop buys"]
    converter = any(total.converter_min is not None for total in found)
    if converter:
        head.append("Its converter by exposure, min")
    rows = []
    for i in rigs:
        total = found[i]
        cells = [
            *_minutes(total, crops),
            compare_words.per_drive(total.stop_min) or "–",
        ]
        if converter:
            cells.append(
                "–" if total.converter_min is None else f"−{total.converter_min}"
            )
        cells += [_over(plan, by_pair.get((i, j))) for j in rigs if len(found) > 1]
        name = f"{words.rig_name(plan, i)}, up to {plan.request.rigs[i].ceiling_text}"
        rows.append([name, *cells])
    caption = f"Over {span}. "
    if crops:
        caption += (
            "“Same picture”: every picture cropped to the narrowest view among the "
            "rigs; “own frame”: each filling its own, by exposure alone. "
        )
    caption += (
        "“Over B”: how many more minutes than B at the same picture, stops of the "
        "animal’s light at one shutter, and the ISO ceiling that B would need for as "
        "many minutes."
    )
    return captioned(caption, "Which lens", [*head, *over], rows)


def _minutes(total: RigTotal, crops: bool) -> tuple[str, str]:
    if not crops:
        return str(total.usable_min), str(total.golden_min)
    return (
        f"{total.picture_min}, {total.picture_golden_min} golden",
        f"{total.usable_min}, {total.golden_min} golden",
    )


def _over(plan: TripPlan, gain: Gain | None) -> str:
    if gain is None:
        return "–"
    one, other = plan.request.rigs[gain.rig], plan.request.rigs[gain.over]
    stops = naming.signed(compare.light_stops(one, other))
    sign = "+" if gain.minutes > 0 else ("−" if gain.minutes < 0 else "±")
    return (
        f"{sign}{abs(gain.minutes)} min, {stops} stops, "
        f"{exposure.iso_text(gain.iso_to_match)}"
    )
