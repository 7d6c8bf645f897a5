"""The inputs of a page's callbacks: the form, and the choices that trigger them."""

from collections.abc import Callable
from typing import Any

from dash import ClientsideFunction, Dash, Input, State
from dash.exceptions import PreventUpdate

from lightplan.choices import table
from lightplan.web import ids

Form = dict[str, Any]
THEME = Input(ids.THEME, "data")
RECORD = State(ids.OWN_CATALOG, "data")


def form_of(page: str, *more: str) -> dict[str, Input | State]:
    """Return the form for a callback that fills a page.

    The page's choices and ``more`` trigger the callback; the rest is only carried in
    the page's links.
    """
    asked = {*table.asked_by(page), *more}
    return {
        name: Input(name, "value") if name in asked else State(name, "value")
        for name in ids.FORM
    }


def or_nothing(content: Callable[[], dict[str, Any]]) -> dict[str, Any]:
    """Leave the page unchanged if `choices` already reports what is wrong."""
    try:
        return content()
    except ValueError:
        raise PreventUpdate from None


def in_browser(
    app: Dash, script: str, name: str, output: Any, *inputs: Any, **more: Any
) -> None:
    """Attach a callback that runs in the browser: a function of ``assets/``."""
    app.clientside_callback(ClientsideFunction(script, name), output, *inputs, **more)
