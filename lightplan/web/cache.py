"""Plans and years, each computed once for all requests."""

import datetime as dt
import threading
from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache, wraps
from typing import ParamSpec, TypeVar

from lightplan.catalog.places import Place, Spot
from lightplan.spots import spots
from lightplan.spots.spots import SpotYear
from lightplan.trip import plan
from lightplan.trip.plan import TripPlan
from lightplan.trip.request import Request
from lightplan.year import plan as year_plan
from lightplan.year.plan import YearPlan

_P = ParamSpec("_P")
_T = TypeVar("_T")


def _one_at_a_time(compute: Callable[_P, _T]) -> Callable[_P, _T]:
    """Let callers wait for one another, so that nothing is computed twice at once.

    A form that changes asks for the same plan in several requests at once; and years
    computed in parallel would hold up short answers.
    """
    lock = threading.Lock()

    @wraps(compute)
    def waiting(*args: _P.args, **named: _P.kwargs) -> _T:
        with lock:
            return compute(*args, **named)

    return waiting


@_one_at_a_time
@lru_cache(maxsize=16)  # a plan may take 7 MB: 62 days by the minute, 6 rigs
def trip(request: Request) -> TripPlan:
    """Return the plan of a request."""
    return plan.make(request)


@_one_at_a_time
@lru_cache(maxsize=16)
def day(request: Request, date: dt.date) -> TripPlan:
    """Return the plan of one of a request's days, which need not wait for the trip's."""
    return plan.make(replace(request, first=date, last=date))


@_one_at_a_time
@lru_cache(maxsize=4)  # a year may take 40 MB
def year(request: Request, of: int, rig: int) -> YearPlan:
    """Return a year of a request."""
    return year_plan.make(request, of, rig)


@_one_at_a_time
@lru_cache(maxsize=6)  # a year of minutes takes 13 MB
def spot(place: Place, at: Spot, of: int) -> SpotYear:
    """Return a year at a spot."""
    return spots.make(place, at, of)
