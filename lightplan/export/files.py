"""The files a trip can be taken along as: one list for page and command line.

Another kind of file is another entry of `FILES`.
"""

import datetime as dt
import unicodedata
from collections.abc import Callable
from dataclasses import replace
from typing import NamedTuple

from lightplan.catalog import positions
from lightplan.export import calendar, document, sheet
from lightplan.export.pocket import page as pocket
from lightplan.trip.plan import TripPlan
from lightplan.trip.request import Request

_NAME_LENGTH = 40  # of the place in a file's name; file systems allow 255 bytes


class Options(NamedTuple):
    """What a file needs to know beside the plan.

    ``stamp`` is when it is made (aware); the clock is the caller's. Without
    ``with_position`` the plan is made from what `withheld` returns.
    """

    stamp: dt.datetime
    alarms: calendar.Alarms = calendar.Alarms()
    with_position: bool = False


class File(NamedTuple):
    """A kind of file.

    ``write`` returns its bytes, the same for the same plan and options, or
    raises ValueError with a sentence where the plan has nothing to put in it.
    """

    key: str
    label: str
    ending: str
    mime: str
    write: Callable[[TripPlan, Options], bytes]

    def name(self, plan: TripPlan) -> str:
        """Return its file name, as `name` makes it."""
        return name(plan, self.ending)


FILES = {
    file.key: file
    for file in (
        File(
            "pocket",
            "Pocket plan and cards to print (HTML)",
            "pocket.html",
            "text/html;charset=utf-8",
            lambda plan, _: pocket.page(plan),
        ),
        File(
            "calendar",
            "Calendar with alarms (iCalendar)",
            "calendar.ics",
            "text/calendar;charset=utf-8",
            lambda plan, options: calendar.calendar(
                plan, options.stamp, options.alarms, options.with_position
            ),
        ),
        File(
            "drives",
            "Drives for a spreadsheet (CSV)",
            "drives.csv",
            "text/csv;charset=utf-8",
            lambda plan, options: sheet.drives(plan, options.with_position),
        ),
        File(
            "minutes",
            "Every minute for a spreadsheet (CSV)",
            "minutes.csv",
            "text/csv;charset=utf-8",
            lambda plan, _: sheet.minutes(plan),
        ),
        File(
            "json",
            "The whole plan for programs (JSON)",
            "plan.json",
            "application/json",
            lambda plan, options: document.dumps(plan, options.with_position),
        ),
    )
}


def withheld(request: Request, with_position: bool) -> Request:
    """Return the request whose plan goes into a file, see `positions.withheld`."""
    if with_position:
        return request
    return replace(request, place=positions.withheld(request.place))


def name(plan: TripPlan, ending: str) -> str:
    """Return a file name that is safe on every system.

    ``lightplan-mopane-loop-2027-08-12-to-2027-08-14-drives.csv``, where ``ending``
    is the last part.
    """
    first, last = plan.request.first.isoformat(), plan.request.last.isoformat()
    dates = first if first == last else f"{first}-to-{last}"
    parts = ("lightplan", _harmless(plan.request.place.name), dates, ending)
    return "-".join(filter(None, parts))


def _harmless(name: str) -> str:
    """Return the words of a name, of letters, digits and their marks alone."""
    spaced = "".join(c if _in_a_word(c) else " " for c in name)
    words = [word for word in spaced.lower().split() if any(map(str.isalnum, word))]
    composed = unicodedata.normalize("NFC", "-".join(words))
    return composed[:_NAME_LENGTH].strip("-")


def _in_a_word(c: str) -> bool:
    # Marks are the vowels of many scripts; category M.
    return c.isalnum() or unicodedata.category(c)[0] == "M"
