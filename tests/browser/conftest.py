"""A Chromium and a server, for the page as people meet it.

Chromium may reach 127.0.0.1 and nothing else. After each test its console must
be clean, and no request may have failed or gone to another host.
"""

import datetime as dt
import os
import shutil
import threading
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from functools import cache
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from browsing import ARGUMENTS, DESKTOP, DRAWN, PHONE, shows_plan, watch
from playwright.sync_api import (
    Browser,
    BrowserContext,
    Page,
    Playwright,
    expect,
    sync_playwright,
)
from werkzeug.serving import WSGIRequestHandler, make_server

from lightplan.catalog import places
from lightplan.catalog.places import Catalog
from lightplan.choices import state
from lightplan.choices.raw import Raw
from lightplan.trip import plan as planning
from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.web import app as factory
from lightplan.web import clock

EXAMPLE = Path(__file__).parents[2] / "locations.example.toml"
NAMES = ("chromium", "chromium-browser", "google-chrome")
# A Wednesday, so that the coming week begins on Thursday 12 August 2027.
NOW = dt.datetime(2027, 8, 11, 10, tzinfo=dt.UTC)
PATIENCE_MS = 40_000  # for a loaded machine; a page is there in two or three seconds

Visitors = AbstractContextManager[Callable[..., Page]]

HERE = "Africa/Lusaka"


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark every test of this folder.

    flask-compress, which Dash brings along, leaves the file behind a compressed
    asset to be closed by the garbage collector.
    """
    for item in items:
        if item.path.parent == Path(__file__).parent:
            item.add_marker("browser")
            item.add_marker(
                pytest.mark.filterwarnings("ignore:unclosed file:ResourceWarning")
            )


@pytest.fixture(scope="session")
def chromium() -> str:
    """Find Chromium, or skip: its absence is a failure only where it is required."""
    path = Path("/usr/bin/chromium")
    found = (
        str(path) if path.exists() else next(filter(None, map(shutil.which, NAMES)), "")
    )
    if not found:
        reason = f"no Chromium: none of {', '.join(NAMES)} is installed"
        if os.environ.get("LIGHTPLAN_BROWSER") == "required":
            pytest.fail(reason)
        pytest.skip(reason)
    return found


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    expect.set_options(timeout=PATIENCE_MS)
    with sync_playwright() as started:
        yield started


@pytest.fixture(scope="session")
def browser(playwright: Playwright, chromium: str) -> Iterator[Browser]:
    """For first visits: every context begins with nothing."""
    started = playwright.chromium.launch(executable_path=chromium, args=ARGUMENTS)
    yield started
    started.close()


@pytest.fixture(scope="session")
def profiles(
    playwright: Playwright, chromium: str, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Callable[[bool], BrowserContext]]:
    """For all other visits, on a desk or a phone: scripts are compiled only once."""
    contexts = []

    @cache
    def profile(phone: bool) -> BrowserContext:
        started = playwright.chromium.launch_persistent_context(
            tmp_path_factory.mktemp("profile"),
            executable_path=chromium,
            args=ARGUMENTS,
            timezone_id=HERE,
            **(PHONE if phone else DESKTOP),
        )
        started.set_default_timeout(PATIENCE_MS)
        contexts.append(started)
        return started

    yield profile
    for context in contexts:
        context.close()


class _Silent(WSGIRequestHandler):
    def log_request(self, *_: object) -> None:
        pass


@pytest.fixture(scope="session")
def address() -> Iterator[str]:
    """Serve the page on a free port, in the week of 11 August 2027."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(clock, "now", lambda: NOW)
        app = factory.create_app(str(EXAMPLE))
        server = make_server(
            "127.0.0.1", 0, app.server, threaded=True, request_handler=_Silent
        )
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        yield f"http://127.0.0.1:{server.server_port}/"
        server.shutdown()
        thread.join()
        server.server_close()


@pytest.fixture(scope="session")
def visitors(
    browser: Browser, profiles: Callable[[bool], BrowserContext], address: str
) -> Callable[[], Visitors]:
    """Open pages that know nothing of one another, and hold each against being clean."""

    def fresh(phone: bool, timezone: str) -> Page:
        device = PHONE if phone else DESKTOP
        context = browser.new_context(timezone_id=timezone, **device)
        context.set_default_timeout(PATIENCE_MS)
        return context.new_page()

    def leave(page: Page, first: bool) -> None:
        if first:
            page.context.close()
            return
        origin = {"origin": address.rstrip("/"), "storageTypes": "all"}
        session = page.context.new_cdp_session(page)
        session.send("Storage.clearDataForOrigin", origin)
        page.close()

    @contextmanager
    def visiting() -> Iterator[Callable[..., Page]]:
        pages, trouble = [], []

        def open_page(
            search: str = "",
            phone: bool = False,
            dark: bool = False,
            timezone: str = HERE,
            first: bool = False,
            before: Callable[[Page], None] = lambda page: None,
        ) -> Page:
            page = fresh(phone, timezone) if first else profiles(phone).new_page()
            pages.append((page, first))
            page.emulate_media(color_scheme="dark" if dark else "light")
            watch(page, trouble)
            before(page)
            page.goto(address + search)
            page.wait_for_function(DRAWN)
            return page

        yield open_page
        for page, first in pages:
            leave(page, first)
        assert trouble == []

    return visiting


@pytest.fixture
def visit(visitors: Callable[[], Visitors]) -> Iterator[Callable[..., Page]]:
    """Open the page, as one who was never there, and wait until all of it is drawn."""
    with visitors() as open_page:
        yield open_page


@pytest.fixture(scope="session")
def drawn() -> Callable[[Page], None]:
    """Wait until a page that was loaded again is drawn."""
    return lambda page: page.wait_for_function(DRAWN)


@pytest.fixture(scope="session")
def catalog() -> Catalog:
    return places.load(EXAMPLE)


@pytest.fixture(scope="session")
def link(catalog: Catalog) -> Callable[..., str]:
    """Return the address of a day with some of its texts replaced.

    A page with few rows answers sooner than the usual week's.
    """

    def search(
        changes: dict[str, str] | None = None,
        rigs: tuple[tuple[str, ...], ...] | None = None,
        drive: str = "",
    ) -> str:
        base = state.defaults(catalog, NOW)
        day = {"to": base["from"]}
        fields = {**dict(base.fields), **day, **(changes or {})}
        filled = tuple((*rig, "", "", "", "")[:5] for rig in rigs or ())
        raw = Raw(tuple(fields.items()), base.rigs if rigs is None else filled, drive)
        return raw.search()

    return search


@pytest.fixture(scope="session")
def plan_of(catalog: Catalog) -> Callable[[Page], TripPlan]:
    """Plan the trip that a page's address names."""

    def plan(page: Page) -> TripPlan:
        raw = Raw.from_search(urlsplit(page.url).query)
        return planning.make(state.read(raw, catalog))

    return plan


@pytest.fixture(scope="session")
def drive_of(plan_of: Callable[[Page], TripPlan]) -> Callable[[Page], DrivePlan]:
    """Return the drive that a page's address names, else its trip's first."""

    def drive(page: Page) -> DrivePlan:
        raw = Raw.from_search(urlsplit(page.url).query)
        of = plan_of(page)
        return of.drive(raw.drive) or of.drives[0]

    return drive


@pytest.fixture(scope="session")
def shows(
    plan_of: Callable[[Page], TripPlan], drive_of: Callable[[Page], DrivePlan]
) -> Callable[[Page], None]:
    """Hold all that a page shows against the plan that its address names."""

    return lambda page: shows_plan(page, plan_of(page), drive_of(page))


@pytest.fixture(scope="session")
def choose() -> Callable[[Page, str, str], None]:
    """Choose an option of a list by its label, with the mouse."""

    def pick(page: Page, label: str, option: str) -> None:
        page.get_by_label(label, exact=True).and_(page.locator("input")).click()
        page.get_by_role("option", name=option, exact=True).click()

    return pick


@pytest.fixture(scope="session")
def press() -> Callable[[Page, str, str], None]:
    """Press one of the buttons of a group, with the mouse."""

    def click(page: Page, group: str, option: str) -> None:
        page.get_by_role("radiogroup", name=group).get_by_text(
            option, exact=True
        ).click()

    return click


@pytest.fixture(scope="session")
def in_address() -> Callable[[Page, str, str], None]:
    """Wait until the page's address carries a value, or lacks it if empty."""

    def wait(page: Page, name: str, text: str) -> None:
        page.wait_for_function(
            """([name, text]) =>
                (new URLSearchParams(location.search).getAll(name).join('|')) === text""",
            arg=[name, text],
        )

    return wait
