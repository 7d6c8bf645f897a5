"""Names of the page's components, so that none is spelt twice."""

# What a person chooses, in the order of the page. Each name is also the name
# of the value in the URL.
PLACE, LATITUDE, LONGITUDE, ZONE = "place", "lat", "lon", "zone"
OWN_FIELDS = (LATITUDE, LONGITUDE, ZONE)
FIRST, LAST = "from", "to"
PACE, FACING, SKY, COVER = "pace", "side", "sky", "cover"
TRAVEL, DISTANCE, BLUR = "back", "distance", "blur"
YEAR, SHOWN = "year", "shown"
ORDER, MARKS, SKIES = "order", "book", "skies"
FIELDS = (
    PLACE, LATITUDE, LONGITUDE, ZONE, FIRST, LAST,
    PACE, FACING, SKY, COVER, TRAVEL, DISTANCE, BLUR, YEAR, SHOWN,
    ORDER, MARKS, SKIES,
)  # fmt: skip
# What one page asks for and the other only carries along in its links.
TRIP_ONLY = (FIRST, LAST, TRAVEL, ORDER, MARKS, SKIES)
YEAR_ONLY = (YEAR, SHOWN)

# The five fields of each rig slot, A to F.
RIG_FIELDS = ("rig", "focal", "aperture", "shutter", "iso")


def slot_field(field: str, slot: int) -> str:
    """Return the id of one field of one rig slot."""
    return f"{field}-{slot}"


OWN_PLACE = "own-place"
SLOTS = "slots"
ADD_RIG = "add-rig"
DRAWER, DRAWER_BUTTON, DRAWER_DONE = "choices", "choices-button", "choices-done"

POPUPS = "popups"
PAGE, LINK, ADDRESS, USUAL = "page", "link", "address", "usual"
THEME, THEME_CHOICE, PROVIDER = "theme", "theme-choice", "provider"

PROBLEM, NOTES = "problem", "notes"
SUMMARY = "summary"
ANSWER = "answer"
DRIVES, SELECTED = "drives", "drive"
CHART_TITLE, CHART, CHART_TEXT = "chart-title", "chart", "chart-text"
MINUTES, MINUTE, READOUT = "minutes", "minute", "readout"
TABLES = "tables"
LENSES, BOOKING, DRIVE_SKY = "lenses", "booking", "drive-sky"


def slot_box(slot: int) -> str:
    """Return the id of a rig slot's box."""
    return f"slot-{slot}"


def slot_summary(slot: int) -> str:
    """Return the id of the line that says how a slot's rig is set."""
    return f"slot-{slot}-summary"


def remove_rig(slot: int) -> str:
    """Return the id of a slot's remove button."""
    return f"slot-{slot}-remove"


def drive_button(key: str) -> dict[str, str]:
    """Return the id of the button that selects a drive."""
    return {"type": "drive", "key": key}


YEAR_ANSWER, YEAR_NOTES = "year-answer", "year-notes"
YEAR_CHART, YEAR_TEXT, YEAR_TABLE = "year-chart", "year-text", "year-table"
YEAR_LENSES = "year-lenses"


def nav_link(page: str) -> str:
    """Return the id of a page's link in the header."""
    return f"nav-{page}"


def mark_button(key: str) -> dict[str, str]:
    """Return the id of the button that marks a drive for booking."""
    return {"type": "mark", "key": key}
