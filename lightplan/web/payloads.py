"""The shapes of what a page sends, checked before a callback uses it.

Our pages send nothing else; anything else gets a 400 and its sentence.
"""

from typing import Annotated, Any, Literal, TypeVar

from pydantic import BaseModel, Field, ValidationError
from werkzeug.exceptions import BadRequest

from lightplan.catalog.places import MOST_OF_A_PLACE
from lightplan.web.kit import fields as catalog_fields
from lightplan.web.kit.edit import ONE_OF

Kind = Annotated[str, Field(pattern=f"^({'|'.join(ONE_OF)})$")]
# More rows than an entry may be saved with, so that a sentence can say it has too many.
Row = Annotated[int, Field(ge=0, le=MOST_OF_A_PLACE + 100)]
Line = tuple[str, Row, str, str | int | float | bool | None]
Lines = Annotated[list[Line], Field(max_length=10_000)]
_S = TypeVar("_S", bound=BaseModel)


class Shape(BaseModel):
    """The known keys of a dictionary; others are left out."""


class Visit(Shape):
    """An address, and what the browser keeps."""

    path: str
    search: str
    record: Any = None


class At(Shape):
    """Which entry is shown; ``kind`` may be one that no longer exists."""

    kind: str | None = None
    name: str | None = None


class View(Shape):
    """Which entry is shown, and all texts typed and not saved."""

    at: At | None = None
    drafts: dict[str, Lines] | None = None


class Original(Shape):
    """An entry as the page showed it."""

    kind: Kind
    name: str
    title: str = ""
    draft: str
    lines: Lines = []


class TypedField(Shape):
    """The id of a field of an entry."""

    part: str
    row: Row
    key: str


class Fields(Shape):
    """Ids of all fields of an entry, and their values."""

    fields: Annotated[list[TypedField], Field(max_length=10_000)]
    values: Annotated[list[str | int | float | bool | None], Field(max_length=10_000)]


class Cause(Shape):
    """The id of the button that adds or removes a row."""

    type: Literal["kit-add", "kit-drop"]
    part: str
    row: Row = 0


class Wanted(Shape):
    """A change that waits for an answer."""

    text: str
    kind: str = ""
    name: str = ""
    draft: str = ""


class Readings(Shape):
    """The readings of a drive; only the drive's key is used here."""

    drive: str


class Minute(Shape):
    """A minute of a drive; a minute after its end means its last."""

    minute: Annotated[int, Field(ge=0, le=10_000)]


class File(Shape):
    """A file as a data URL, as browsers read it."""

    name: str
    contents: str


class Taken(Shape):
    """The id of the button that saves a trip as a file."""

    file: str


class Keep(Shape):
    """The id of the button that saves a learned cover."""

    index: Annotated[int, Field(ge=0)]


class Covers(Shape):
    """All learned covers, and the names typed for them."""

    names: list[str | None]
    covers: list[dict[str, str | int | float]]


class Newer(Shape):
    """What another tab has saved."""

    record: Any = None


def checked(shape: type[_S], value: object) -> dict[str, Any]:
    """Return what was sent as a dictionary of the shape's keys.

    Raises
    ------
    werkzeug.exceptions.BadRequest
        If it has another shape.
    """
    try:
        return shape.model_validate(value).model_dump()
    except ValidationError:
        raise BadRequest from None


def typed(fields: object, values: object) -> dict[str, Any]:
    """Return ids and values of an entry's fields, as many of one as of the other."""
    sent = checked(Fields, {"fields": fields, "values": values})
    if len(sent["fields"]) != len(sent["values"]):
        raise BadRequest
    return sent


def minute(value: object) -> int:
    """Return the minute of a slider, the first if it has none."""
    minute: int = checked(Minute, {"minute": value or 0})["minute"]
    return minute


def kept(cause: object, names: object, covers: object) -> tuple[str, dict[str, Any]]:
    """Return the name and the learned cover that a button saves."""
    index = checked(Keep, cause)["index"]
    sent = checked(Covers, {"names": names, "covers": covers})
    if index >= min(len(sent["names"]), len(sent["covers"])):
        raise BadRequest
    return sent["names"][index] or "", sent["covers"][index]


def cause(value: object, kind: str) -> dict[str, Any]:
    """Return which row button of the entry was pressed."""
    sent = checked(Cause, value)
    if sent["part"] not in {part.key for part in catalog_fields.parts(kind)}:
        raise BadRequest
    return sent
