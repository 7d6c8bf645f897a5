"""What the tests of the page share: a catalog, a moment, trips and readers of markup."""

import datetime as dt
import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from dash import Dash
from dash.development.base_component import Component

from lightplan.catalog import places
from lightplan.catalog.gates import Gates
from lightplan.catalog.places import Catalog, Place
from lightplan.choices import state
from lightplan.choices.raw import OWN, Raw
from lightplan.trip import plan
from lightplan.trip.minutes import Outcome, Run, Span
from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.trip.request import Request, choose
from lightplan.web.app import create_app

EXAMPLE = Path(__file__).parents[2] / "locations.example.toml"
NOW = dt.datetime(2027, 8, 11, 10, tzinfo=dt.UTC)


@pytest.fixture(scope="session")
def example_file() -> Path:
    return EXAMPLE


@pytest.fixture(scope="session")
def catalog() -> Catalog:
    return places.load(EXAMPLE)


@pytest.fixture(scope="session")
def now() -> dt.datetime:
    """A Wednesday: the coming week begins on Thursday 12 August 2027."""
    return NOW


@pytest.fixture(scope="session")
def app() -> Dash:
    # The file is named, so that a developer's own locations.toml changes nothing.
    return create_app(str(EXAMPLE))


@pytest.fixture(scope="session")
def usual(catalog: Catalog) -> Callable[..., Raw]:
    """Return the usual texts with some of them replaced."""

    def raw(
        changes: dict[str, str] | None = None,
        rigs: tuple[tuple[str, ...], ...] | None = None,
        drive: str = "",
    ) -> Raw:
        base = state.defaults(catalog, NOW)
        fields = {**dict(base.fields), **(changes or {})}
        filled = tuple((*rig, "", "", "", "")[:5] for rig in rigs or ())
        return Raw(tuple(fields.items()), base.rigs if rigs is None else filled, drive)

    return raw


@pytest.fixture(scope="session")
def own() -> dict[str, str]:
    """The texts of a place of one's own, in range."""
    return {
        "place": OWN,
        "lat": "-24.5",
        "lon": "31.25",
        "zone": "Africa/Johannesburg",
    }


@pytest.fixture(scope="session")
def trip(catalog: Catalog) -> Callable[..., TripPlan]:
    """Plan a trip to a place, with the first rigs of the example file."""
    planned = cache(plan.make)  # many ask for the same trip, none changes it

    def make(
        place: str | Place = "Mopane Loop",
        first: str = "2027-08-12",
        last: str = "",
        rigs: int = 3,
        facing: str = "side",
        travel_min: int = 25,
        pace: str = "walking",
        sky: str = "clear",
    ) -> TripPlan:
        return planned(
            Request(
                place=catalog.place(place) if isinstance(place, str) else place,
                first=dt.date.fromisoformat(first),
                last=dt.date.fromisoformat(last or first),
                rigs=tuple(
                    choose(catalog.rig(r.name), pace) for r in catalog.rigs[:rigs]
                ),
                facing=facing,
                travel_min=travel_min,
                pace=pace,
                sky=sky,
            )
        )

    return make


@pytest.fixture(scope="session")
def gated() -> Callable[..., Place]:
    """Return a place whose only drive runs between two gate times."""

    def place(
        opens: str,
        closes: str,
        session: str = "morning",
        latitude_deg: float = -13.1,
        longitude_deg: float = 31.8,
        timezone: str = "Africa/Lusaka",
    ) -> Place:
        return Place(
            name="Gatepost",
            latitude_deg=latitude_deg,
            longitude_deg=longitude_deg,
            timezone=timezone,
            gates=(Gates.model_validate({session: (opens, closes)}),),
        )

    return place


@pytest.fixture(scope="session")
def with_minutes() -> Callable[..., DrivePlan]:
    """Return a drive whose rigs have the usable minutes that a test writes down.

    One entry a rig, in minutes from the opening: ``None`` for never, ``(first,
    last)``, or these two and earliest and latest of each; ``None`` among those
    four where that end of the spread has no usable minute.
    """

    def drive(
        of: DrivePlan, *rigs: tuple[int | None, ...] | None, hopeful: bool = False
    ) -> DrivePlan:
        def at(minute: int | None) -> np.datetime64 | None:
            if minute is None:
                return None
            return of.drive.opens_utc + np.timedelta64(minute, "m")

        def outcome(minutes: tuple[int | None, ...] | None) -> Outcome:
            if minutes is None:
                return Outcome(None, None, 0, 0, hopeful)
            first, last, *spread = minutes
            first_early, first_late, last_early, last_late = spread or (
                first,
                first,
                last,
                last,
            )
            return Outcome(
                Span(at(first), at(first_early), at(first_late)),
                Span(at(last), at(last_early), at(last_late)),
                last - first,
                0,
                True,
                (Run(at(first), at(last)),),
            )

        return replace(of, outcomes=tuple((outcome(rig),) * 3 for rig in rigs))

    return drive


def _walk(node: Any) -> Iterator[Component]:
    if isinstance(node, list | tuple):
        for child in node:
            yield from _walk(child)
    elif isinstance(node, Component):
        yield node
        yield from _walk(getattr(node, "children", None))


@pytest.fixture(scope="session")
def walk() -> Callable[[Any], Iterator[Component]]:
    """Run over a tree of components, parents first."""
    return _walk


@pytest.fixture(scope="session")
def classed() -> Callable[[Any, str], list[Component]]:
    """Return the components below one that have a class."""

    def find(node: Any, name: str) -> list[Component]:
        return [
            component
            for component in _walk(node)
            if name in (getattr(component, "className", None) or "").split()
        ]

    return find


def _text(node: Any) -> str:
    if isinstance(node, list | tuple):
        return "".join(_text(child) for child in node)
    if isinstance(node, Component):
        return _text(getattr(node, "children", None))
    return "" if node is None else str(node)


@pytest.fixture(scope="session")
def text_of() -> Callable[[Any], str]:
    """Return what a tree of components says."""
    return _text


@pytest.fixture(scope="session")
def served() -> Callable[[Dash, str], dict[str, Any]]:
    """Ask an app for its layout as the browser does: from the page's address."""

    def layout(app: Dash, search: str = "") -> dict[str, Any]:
        response = app.server.test_client().get(
            "/_dash-layout", headers={"Referer": f"http://127.0.0.1/{search}"}
        )
        assert response.status_code == 200, response.status
        return json.loads(response.text)

    return layout


@pytest.fixture(scope="session")
def by_id() -> Callable[[Any], dict[str, dict[str, Any]]]:
    """Return the properties of every component of a served layout, by id."""

    def index(node: Any) -> dict[str, dict[str, Any]]:
        found: dict[str, dict[str, Any]] = {}
        if isinstance(node, list):
            for child in node:
                found |= index(child)
        elif isinstance(node, dict):
            props = node.get("props", {})
            if isinstance(props.get("id"), str):
                found[props["id"]] = {**props, "said": _said(node)}
            found |= index(props.get("children"))
        return found

    return index


def _said(node: Any) -> str:
    if isinstance(node, list):
        return "".join(_said(child) for child in node)
    if isinstance(node, dict):
        return _said(node.get("props", {}).get("children"))
    return "" if node is None else str(node)
