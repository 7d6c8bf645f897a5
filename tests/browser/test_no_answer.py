"""When the server refuses, fails or is gone, the page says so and stays as it is."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from lightplan.web import guard

UPDATE = "**/_dash-update-component?*"
SENTENCE = "This address refuses for a test."


@pytest.fixture
def page(browser: Browser, address: str) -> Iterator[Page]:
    """A page whose failed requests are meant, so nothing watches them."""
    context = browser.new_context()
    context.set_default_timeout(10_000)
    page = context.new_page()
    page.goto(f"{address}?from=2027-08-12&to=2027-08-13")
    expect(page.locator("#answer")).not_to_be_empty()
    expect(page.locator("#unanswered")).to_be_empty()
    yield page
    context.close()


def refuse(route: Route) -> None:
    route.fulfill(status=413, content_type="text/plain", body=SENTENCE + "\n")


def set_minutes(page: Page, minutes: str) -> None:
    page.get_by_label("Minutes back to the gate").fill(minutes)


def test_a_refused_request_is_told_until_the_same_is_answered(page):
    before = page.locator("#answer").inner_text()
    page.route(UPDATE, refuse)
    set_minutes(page, "45")
    said = page.get_by_role("alert").filter(has_text=SENTENCE)
    expect(said).to_have_text(f"{SENTENCE} Showing the last answer.")
    assert page.locator("#answer").inner_text() == before
    page.unroute(UPDATE)
    set_minutes(page, "50")
    expect(page.locator("#unanswered")).to_be_empty()
    expect(page.locator("#unanswered")).to_be_hidden()


def test_a_server_that_is_gone_is_told(page):
    page.route(UPDATE, lambda route: route.abort("connectionrefused"))
    set_minutes(page, "45")
    said = page.get_by_role("alert").filter(has_text="The server does not answer.")
    expect(said).to_be_visible()


def test_a_file_too_large_to_send_is_told(page, address):
    page.goto(f"{address}kit")
    expect(page.locator("#kit-form")).not_to_be_empty()
    content = b"#" * guard.LARGEST_REQUEST
    page.locator("#kit-upload input[type=file]").set_input_files(
        {"name": "much.toml", "mimeType": "text/plain", "buffer": content}
    )
    expect(page.locator("#unanswered")).to_be_visible()


def test_a_reload_while_an_answer_is_on_its_way_gives_a_whole_page(page):
    asked = []
    page.route(UPDATE, lambda route: asked.append(route))  # and never answer
    with page.expect_request(UPDATE):
        set_minutes(page, "45")
    page.unroute_all(behavior="ignoreErrors")
    broken = []
    page.on("pageerror", lambda error: broken.append(str(error)))
    page.reload()
    # What was not answered was not in the address yet: all is as it was before.
    back = page.get_by_label("Minutes back to the gate")
    expect(back).to_have_value("25")
    expect(page.locator("#answer")).to_contain_text("Turn back by 09:35")
    expect(page.locator("#unanswered")).to_be_empty()
    set_minutes(page, "60")
    expect(page.locator("#answer")).to_contain_text("Turn back by 09:00")
    assert broken == []
