"""What every picture starts from: background, font, and no dragging.

Figures are plain dictionaries: quicker to build and lighter to send than graph
objects.
"""

from typing import Any

from lightplan.web.figures.theme import Theme

Figure = dict[str, Any]

GRAPH_CONFIG: Any = {
    "displayModeBar": False,
    "displaylogo": False,
    "showSendToCloud": False,  # plotly's own button would upload the chart
    "scrollZoom": False,
    "doubleClick": False,
    "responsive": True,
}
FONT = "ui-sans-serif, system-ui, sans-serif"


def sheet(theme: Theme) -> Figure:
    """Return what every picture's layout starts from: colours, and no dragging."""
    return {
        "paper_bgcolor": theme.surface,
        "plot_bgcolor": theme.surface,
        "font": {"family": FONT, "size": 12, "color": theme.muted},
        "dragmode": False,
        "hovermode": False,
        "showlegend": False,
    }
