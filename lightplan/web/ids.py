"""Ids of the page's components, each spelt in one place."""

from typing import Any

from lightplan.choices import table
from lightplan.choices.raw import DRIVE, SLOT_FIELDS

# Every field that a page's choices are read from.
FORM = (*table.BY_NAME, *SLOT_FIELDS)

OWN_PLACE = "own-place"
SLOTS = "slots"
ADD_RIG = "add-rig"
DRAWER, DRAWER_BUTTON, DRAWER_DONE = "choices", "choices-button", "choices-done"

POPUPS = "popups"
PAGE, LINK, ADDRESS, USUAL = "page", "link", "address", "usual"
TYPED = "typed"
THEME, THEME_CHOICE, PROVIDER = "theme", "theme-choice", "provider"

PROBLEM, NOTES = "problem", "notes"
SUMMARY = "summary"
ANSWER = "answer"
DRIVES, SELECTED = "drives", DRIVE
CHART_TITLE, CHART, CHART_TEXT = "chart-title", "chart", "chart-text"
CHART_WHY = "chart-why"
MINUTES, MINUTE, READOUT = "minutes", "minute", "readout"
TABLES = "tables"
LENSES, DRIVE_SKY, FRAME = "lenses", "drive-sky", "frame"
BOOKING, BOOKED, BOOKABLE = "booking", "booked", "bookable"


def slot_box(slot: int) -> str:
    """Return the id of a rig slot's box."""
    return f"slot-{slot}"


def slot_summary(slot: int) -> str:
    """Return the id of the line that says how a slot's rig is set."""
    return f"slot-{slot}-summary"


def remove_rig(slot: int) -> str:
    """Return the id of a slot's remove button."""
    return f"slot-{slot}-remove"


def drive_button(key: str) -> dict[str, Any]:
    """Return the attribute of the button that selects a drive."""
    return {"data-drive": key}


YEAR_ANSWER, YEAR_NOTES = "year-answer", "year-notes"
YEAR_CHART, YEAR_TEXT, YEAR_TABLE = "year-chart", "year-text", "year-table"
YEAR_LENSES = "year-lenses"

LOOP_ANSWER, LOOP_NOTES, LOOP_DRIVES = "loop-answer", "loop-notes", "loop-drives"
LOOP_TITLE, LOOP_CHART, LOOP_TEXT = "loop-title", "loop-chart", "loop-text"
LOOP_TABLES, LOOP_LOAD, LOOP_FILE = "loop-tables", "loop-load", "loop-file"
LOOP_SAID = "loop-said"


def nav_link(page: Any) -> dict[str, Any]:
    """Return the id of a page's link in the header; ``page`` may be `dash.ALL`."""
    return {"type": "nav", "page": page}


# The page Kit and places. OWN_CATALOG is also its key in the
# browser's storage.
OWN_CATALOG, VISIT, ROOT = "lightplan-catalog", "visit", "root"
KIT_BASE, KIT_AT, KIT_VIEW = "kit-base", "kit-at", "kit-view"
KIT_ORIGINAL, KIT_NAMES = "kit-original", "kit-names"
KIT_WANTED, KIT_NEWER = "kit-wanted", "kit-newer"
KIT_ANSWER, KIT_LISTS, KIT_FORM = "kit-answer", "kit-lists", "kit-form"
KIT_SAID, KIT_ASK, KIT_QUESTION = "kit-said", "kit-ask", "kit-question"
KIT_YES, KIT_NO, KIT_LATEST, KIT_BOTH = "kit-yes", "kit-no", "kit-latest", "kit-both"
KIT_SAVE, KIT_DISCARD, KIT_REMOVE = "kit-save", "kit-discard", "kit-remove"
KIT_UNSAVED, KIT_TITLE = "kit-unsaved", "kit-title"
KIT_PAGES, KIT_LINK = "kit-pages", "kit-link"
KIT_DOWNLOAD, KIT_FILE = "kit-download", "kit-file"
KIT_LOAD, KIT_UPLOAD, KIT_RESET = "kit-load", "kit-upload", "kit-reset"

KitId = dict[str, str | int]


def kit_nav_link(page: str) -> dict[str, Any]:
    """Return the id of a page's link in this page's header."""
    return {"type": "kit-nav", "page": page}


def kit_field(part: str, row: int, key: str) -> KitId:
    """Return the id of a field of the entry shown."""
    return {"type": "kit-field", "part": part, "row": row, "key": key}


def kit_add(part: str) -> KitId:
    """Return the id of the button that adds a row to a part of the entry."""
    return {"type": "kit-add", "part": part}


def kit_drop(part: str, row: int) -> KitId:
    """Return the id of the button that removes a row."""
    return {"type": "kit-drop", "part": part, "row": row}


def kit_entry(kind: str, index: int) -> KitId:
    """Return the id of the button that opens an entry; -1 is a new one."""
    return {"type": "kit-entry", "kind": kind, "index": index}


# The files of a trip.
ALARMS, LEAVE, DOWNLOAD, TAKE_SAID = "alarms", "leave", "download", "take-said"
POCKET, WITH_POSITION = "pocket", "with-position"


def take_button(file: Any) -> dict[str, Any]:
    """Return the id of a file's button; ``file`` may be `dash.ALL`."""
    return {"type": "take", "file": file}


def mark_button(key: str) -> dict[str, Any]:
    """Return the attribute of the button that marks a drive for booking."""
    return {"data-mark": key}


# The page of fixed spots. The list sets a field that every page has.
SPOT_CHOICE, SPOTS_OF = "spot-choice", "spots-of"
SPOTS_ANSWER, SPOTS_NOTES, SPOTS_SHOWN = "spots-answer", "spots-notes", "spots-shown"
SPOTS_RUNS, SPOTS_KEY = "spots-runs", "spots-key"
SPOTS_CHART, SPOTS_TEXT = "spots-chart", "spots-text"
SPOTS_NEXT, SPOTS_WEEKS = "spots-next", "spots-weeks"
# The page Where to stop.
STOP_ANSWER, STOP_NOTES, STOP_DRIVE = "stop-answer", "stop-notes", "stop-drive"
STOP_MINUTE, STOP_AT, STOP_READINGS = "stop-minute", "stop-at", "stop-readings"
STOP_READOUT, STOP_CHART, STOP_TEXT = "stop-readout", "stop-chart", "stop-text"
STOP_TABLES, STOP_TIMES = "stop-tables", "stop-times"
STOP_ENDS, STOP_WHY = "stop-ends", "stop-why"
# The page Your frames. Frames are stored in the tab, not in the URL.
LEARN_FRAMES, LEARN_COVERS = "learn-frames", "learn-covers"
LEARN_DROP, LEARN_FOLDER, LEARN_FILES = "learn-drop", "learn-folder", "learn-files"
LEARN_FORGET, LEARN_PROGRESS = "learn-forget", "learn-progress"
LEARN_ANSWER, LEARN_PROBLEM = "learn-answer", "learn-problem"
LEARN_ACCOUNT, LEARN_FOUND = "learn-account", "learn-found"
LEARN_CHART, LEARN_TEXT = "learn-chart", "learn-text"
LEARN_TABLE, LEARN_KEEPS = "learn-table", "learn-keeps"
LEARN_PICK, LEARN_PICK_NAME = "learn-pick", "learn-pick-name"
LEARN_PICK_BOX, LEARN_PICKED = "learn-pick-box", "learn-picked"
LEARN_PICKED_DONE = "learn-picked-done"
LEARN_CLOCK_ZONE, LEARN_CLOCK, LEARN_SKY = "learn-zone", "learn-clock", "learn-sky"
LEARN_SIDE, LEARN_BASE, LEARN_PRESET = "learn-side", "learn-base", "learn-preset"
LEARN_BY, LEARN_GROUPS = "learn-by", "learn-groups"
LEARN_HABIT, LEARN_EXPOSED = "learn-habit", "learn-as-exposed"
LEARN_REFERENCE = "learn-reference"
LEARN_CHOICES = (
    LEARN_CLOCK_ZONE, LEARN_CLOCK, LEARN_SKY, LEARN_SIDE, LEARN_BASE, LEARN_PRESET,
    LEARN_BY, LEARN_GROUPS, LEARN_HABIT, LEARN_EXPOSED, LEARN_REFERENCE,
)  # fmt: skip


def learn_name(index: Any) -> dict[str, Any]:
    """Return the id of the field for a cover's name; ``index`` may be `dash.ALL`."""
    return {"type": "learn-name", "index": index}


def learn_keep(index: Any) -> dict[str, Any]:
    """Return the id of the button that saves a cover; ``index`` may be `dash.ALL`."""
    return {"type": "learn-keep", "index": index}
