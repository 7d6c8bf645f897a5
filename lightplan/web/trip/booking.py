"""Which drives: ordered by what is wanted, marked, and the marked ones summed."""

from dash import html
from dash.development.base_component import Component

from lightplan import naming
from lightplan.trip import compare
from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.trip.request import FACING_INDEX, LETTERS
from lightplan.web import ids
from lightplan.web.parts import aria, captioned


def ordered(plan: TripPlan, want: str) -> list[tuple[int, DrivePlan]]:
    """Return (score, drive), the best first and equals in order of time."""
    facing = FACING_INDEX[plan.request.facing]
    scored = [
        (compare.score(d, want, plan.request.rigs, facing), d) for d in plan.drives
    ]
    return sorted(scored, key=lambda pair: -pair[0])


def total_sentence(plan: TripPlan, marked: frozenset[str]) -> str:
    """Sum up the marked drives."""
    drives = [d for d in plan.drives if d.key in marked]
    if not drives:
        return "Mark the drives to book; their totals appear here."
    facing = FACING_INDEX[plan.request.facing]
    found = compare.totals(drives, plan.request.rigs, facing)
    usable = ", ".join(
        f"{LETTERS[i]} {naming.duration(total.usable_min)}"
        for i, total in enumerate(found)
    )
    golden = naming.duration(sum(d.window_min("golden") for d in drives))
    count = f"{len(drives)} drive{'s' if len(drives) > 1 else ''}"
    return f"{count} marked: {golden} of golden light; usable {usable}."


def table(plan: TripPlan, want: str, marked: frozenset[str]) -> list[Component]:
    """Return the drives in order, each with its minutes and a button to mark it."""
    facing = FACING_INDEX[plan.request.facing]
    label = next(w.label for w in compare.WANTS if w.key == want)
    head = ["Drive", f"{label}, min", "Golden, min", "Usable, min", "Sky", "To book"]
    rows = [
        [
            drive.name,
            str(score),
            str(drive.window_min("golden")),
            _usable(drive, facing),
            drive.kind.label,
            _mark(drive, drive.key in marked),
        ]
        for score, drive in ordered(plan, want)
    ]
    caption = "By the best rig, best drive first."
    columns = [naming.sentence(text) for text in head]
    return captioned(caption, "Which drives", columns, rows)


def _usable(drive: DrivePlan, facing: int) -> str:
    return " · ".join(
        f"{LETTERS[i]} {outcomes[facing].usable_min}"
        for i, outcomes in enumerate(drive.outcomes)
    )


def _mark(drive: DrivePlan, marked: bool) -> html.Button:
    return html.Button(
        "marked" if marked else "mark",
        className="quiet",
        **ids.mark_button(drive.key),
        **aria(
            pressed="true" if marked else "false",
            label=f"mark {drive.name}",
        ),
    )
