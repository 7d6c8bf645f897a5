"""One thing a person can choose: its name, its label, how its text is read."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, Literal, TypeVar

from lightplan.catalog.places import Catalog, Place
from lightplan.choices import typed
from lightplan.choices.raw import Raw

T = TypeVar("T")

# What a control looks like: a field for a number, a date, a time or text, a row of
# a few options, a list of many; "" for what other controls set.
Kind = Literal["number", "date", "time", "text", "row", "list", ""]
Options = list[tuple[str, str]]  # value and label


@dataclass(frozen=True, slots=True)
class Usual:
    """What the usual values depend on."""

    place: Place
    first: dt.date
    last: dt.date


@dataclass(frozen=True, slots=True)
class Option:
    """A choice's option on the command line."""

    flag: str
    metavar: str
    help: str


@dataclass(frozen=True, eq=False)  # not slots: a generic with them fails on 3.11
class Choice(Generic[T]):
    """One entry of the table.

    Parameters
    ----------
    name : str
        In the link; also the id of its control.
    label : str
        Shown with its control, with the unit.
    reads : callable
        Turns the text into a value; ValueError with one sentence on a wrong one.
        It gets all the texts too, since one choice may depend on another.
    right : str
        A valid text other than the usual one, for tests.
    kind : Kind
        What its control looks like.
    usual : str or callable
        The text if nothing is chosen.
    empty : bool
        Whether it may be left empty.
    pages, folded : tuple of str
        The pages that show its control and answer again when it changes; the
        pages that do so with the control folded away.
    options : callable, optional
        The values and labels of a row or a list.
    step : float
        By which a number's arrows change it.
    hint, example : str
        Shown below the label, and in the empty field.
    beside : bool
        Whether its control stands beside the one before.
    with_names : tuple of str
        Choices that are valid or wrong only together with it.
    longest : int
        How many characters of its text are read.
    option : Option, optional
        Its option on the command line.
    """

    name: str
    label: str
    reads: Callable[[str, Raw, Catalog], T]
    right: str
    kind: Kind = ""
    usual: str | Callable[[Usual], str] = ""
    empty: bool = False
    pages: tuple[str, ...] = ()
    folded: tuple[str, ...] = ()
    options: Callable[[Catalog], Options] | None = None
    step: float = 1
    hint: str = ""
    example: str = ""
    beside: bool = False
    with_names: tuple[str, ...] = ()
    longest: int = typed.LONGEST
    option: Option | None = None

    def of(self, raw: Raw, catalog: Catalog) -> T:
        """Return the value chosen; ValueError with one sentence on a wrong text."""
        return self.reads(typed.cut(raw[self.name], self.longest), raw, catalog)

    def usual_text(self, usual: Usual) -> str:
        """Return the text if nothing is chosen."""
        return self.usual if isinstance(self.usual, str) else self.usual(usual)
