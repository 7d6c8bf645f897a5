"""The shapes of what a page sends, checked before a callback takes it apart.

A page of ours sends nothing else; whoever does gets a 400 and its sentence.
"""

from typing import Annotated, Any, Literal, TypeVar

from pydantic import BaseModel, Field, ValidationError
from werkzeug.exceptions import BadRequest

from lightplan.catalog.places import MOST_OF_A_PLACE
from lightplan.web.kit import fields as catalog_fields
from lightplan.web.kit.edit import ONE_OF

Kind = Annotated[str, Field(pattern=f"^({'|'.join(ONE_OF)})$")]
# More rows than an entry may be saved with, so that one too many is told.
Row = Annotated[int, Field(ge=0, le=MOST_OF_A_PLACE + 100)]
Line = tuple[str, Row, str, str | int | float | bool | None]
Lines = Annotated[list[Line], Field(max_length=10_000)]
_S = TypeVar("_S", bound=BaseModel)


class Shape(BaseModel):
    """What is known of a dictionary; further keys are left out."""


class Visit(Shape):
    """An address, and what the browser keeps."""

    path: str
    search: str
    record: Any = None


class At(Shape):
    """Which entry is looked at; ``kind`` may be one that there is no more."""

    kind: str | None = None
    name: str | None = None


class View(Shape):
    """Which entry is looked at, and all texts typed and not saved."""

    at: At | None = None
    drafts: dict[str, Lines] | None = None


class Original(Shape):
    """An entry as the page has shown it."""

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
    """Ids of all fields of an entry, and what stands in them."""

    fields: Annotated[list[TypedField], Field(max_length=10_000)]
    values: Annotated[list[str | int | float | bool | None], Field(max_length=10_000)]


class Cause(Shape):
    """The id of the button that adds or takes away a row."""

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
    """The readings of a drive, of which only the drive's key counts here."""

    drive: str


class Minute(Shape):
    """A minute of a drive; one after its end is its last."""

    minute: Annotated[int, Field(ge=0, le=10_000)]


class File(Shape):
    """A file as a data URL, as browsers read it."""

    name: str
    contents: str


class Taken(Shape):
    """The id of the button that takes a trip along as a file."""

    file: str


class Keep(Shape):
    """The id of the button that keeps a learned cover."""

    index: Annotated[int, Field(ge=0)]


class Covers(Shape):
    """All learned covers, and the names typed for them."""

    names: list[str | None]
    covers: list[dict[str, str | int | float]]


class Newer(Shape):
    """What another tab has kept."""

    record: Any = None


def checked(shape: type[_S], value: object) -> dict[str, Any]:
    """Return what was sent in a shape, as a dictionary of what the shape knows.

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
    found = checked(Fields, {"fields": fields, "values": values})
    if len(found["fields"]) != len(found["values"]):
        raise BadRequest
    return found


def minute(value: object) -> int:
    """Return the minute of a slider, the first for none."""
    found: int = checked(Minute, {"minute": value or 0})["minute"]
    return found


def kept(cause: object, names: object, covers: object) -> tuple[str, dict[str, Any]]:
    """Return the name and the learned cover that a button keeps."""
    index = checked(Keep, cause)["index"]
    found = checked(Covers, {"names": names, "covers": covers})
    if index >= min(len(found["names"]), len(found["covers"])):
        raise BadRequest
    return found["names"][index] or "", found["covers"][index]


def cause(value: object, kind: str) -> dict[str, Any]:
    """Return which button for rows was pressed, one that the entry has."""
    found = checked(Cause, value)
    if found["part"] not in {part.key for part in catalog_fields.parts(kind)}:
        raise BadRequest
    return found
