"""The pocket plan as a page of the app: the file itself, in a frame."""

import dash_mantine_components as dmc
from dash import html
from dash.development.base_component import Component

from lightplan.choices import state
from lightplan.export import files
from lightplan.export.pocket import page as pocket
from lightplan.web import cache, ids, layout
from lightplan.web.pages import Visit
from lightplan.web.parts import aria

# A browser prints only the part of a frame that fits on one sheet.
_ON_PAPER = (
    "There are no cards on this sheet. Press “Print the cards” at the end of the pocket "
    "plan: it prints the card of every drive, on A5 or A4."
)


def page(visit: Visit) -> dmc.MantineProvider:
    """Return the page that holds the pocket plan, as the file would show it."""
    raw, loaded = visit.raw, visit.loaded
    plan = cache.trip(files.withheld(state.read(raw, loaded.catalog), False))
    body: list[Component] = [
        html.Main(
            [
                *layout.replaced_values(visit),
                html.Iframe(
                    srcDoc=pocket.page(plan).decode(), title="Pocket plan of the trip"
                ),
                html.P(_ON_PAPER, className="on-paper"),
            ],
            id=ids.POCKET,
            className="pocket",
            tabIndex=-1,
        )
    ]
    pages = html.Nav(
        layout.links(ids.POCKET, raw, ids.kit_nav_link), **aria(label="Pages")
    )
    return layout.shell(pages, body, "Skip to the pocket plan", f"#{ids.POCKET}")
