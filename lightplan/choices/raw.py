"""What a person chose, as texts: the same in the form and in a link."""

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import parse_qsl, unquote, urlencode

from lightplan.catalog import positions
from lightplan.choices import typed
from lightplan.loop import route
from lightplan.trip.request import MAX_RIGS

LONGEST_LINK = 8000  # characters of a link that are read
LONGEST_TEXT = 8001  # characters of one text; the readers' own limits are lower
OWN = "own coordinates"  # a place that is not in the catalog
OWN_FIELDS = ("lat", "lon", "zone")  # needed for it; the catalog has them for others
RIG, DRIVE = "rig", "drive"  # beside the choices in a link

# The five fields of each rig slot, A to F.
RIG_FIELDS = ("rig", "focal", "aperture", "shutter", "iso")


def slot_field(field: str, slot: int) -> str:
    """Return the id of one field of one rig slot."""
    return f"{field}-{slot}"


SLOT_FIELDS = tuple(
    slot_field(field, slot) for slot in range(MAX_RIGS) for field in RIG_FIELDS
)

# Browsers keep addresses and servers log them, so a position is rounded in a link.
_COARSE = {
    "lat": positions.coarse_text,
    "lon": positions.coarse_text,
    "legs": route.coarse_start,
}

# A rig as typed: name, focal length, aperture, shutter, ISO ceiling.
RigTexts = tuple[str, str, str, str, str]


@dataclass(frozen=True, slots=True)
class Raw:
    """Texts as typed: one per field, five per rig, and the selected drive."""

    fields: tuple[tuple[str, str], ...]
    rigs: tuple[RigTexts, ...]
    drive: str = ""

    @classmethod
    def from_search(cls, search: str) -> "Raw":
        """Read a query string without checking it."""
        pairs = parse_qsl(search.removeprefix("?")[:LONGEST_LINK])
        rigs = tuple(_parted(text) for name, text in pairs if name == RIG)
        texts = {name: typed.cut(text, LONGEST_TEXT) for name, text in pairs}
        texts.pop(RIG, "")
        drive = typed.cut(texts.pop(DRIVE, ""))
        return cls(tuple(texts.items()), rigs, drive)

    @classmethod
    def from_form(cls, form: Mapping[str, object], drive: str = "") -> "Raw":
        """Take the values of the page's controls, keyed by their ids, as texts."""
        fields = tuple(
            (name, typed.text(value, LONGEST_TEXT))
            for name, value in form.items()
            if name not in SLOT_FIELDS
        )
        slots = (
            [typed.text(form.get(slot_field(field, slot))) for field in RIG_FIELDS]
            for slot in range(MAX_RIGS)
        )
        return cls(fields, tuple(rig_texts(rig) for rig in slots if rig[0]), drive)

    def __getitem__(self, field: str) -> str:
        """Return the text of a field, empty if missing."""
        return dict(self.fields).get(field, "")

    def replaced(self, changes: Mapping[str, str]) -> "Raw":
        """Return the same with some fields changed and no drive selected."""
        return Raw(tuple({**dict(self.fields), **changes}.items()), self.rigs)

    def search(self) -> str:
        """Return the query string that `from_search` reads back.

        A position in it has two decimals: browsers keep addresses, servers log them.
        """
        # A place of the file brings its own position and zone.
        implied = () if self["place"] == OWN else OWN_FIELDS
        pairs = [
            (name, _COARSE[name](text) if name in _COARSE else text)
            for name, text in self.fields
            if text != "" and name not in implied
        ]
        pairs += [(RIG, _joined(rig)) for rig in self.rigs]
        if self.drive:
            pairs.append((DRIVE, self.drive))
        return "?" + urlencode(pairs)


def _joined(rig: RigTexts) -> str:
    """Write a rig's texts as one: the name, then its settings, between tildes."""
    name, *settings = rig
    escaped = name.replace("%", "%25").replace("~", "%7E")
    return "~".join([escaped, *settings]).rstrip("~")


def _parted(text: str) -> RigTexts:
    """Read back what `_joined` wrote."""
    name, focal, aperture, shutter, iso, *_ = (*text.split("~"), *[""] * 5)
    return rig_texts(
        [typed.cut(t) for t in (unquote(name), focal, aperture, shutter, iso)]
    )


def rig_texts(rig: list[str]) -> RigTexts:
    """Return the five texts of a rig."""
    name, focal, aperture, shutter, iso = rig
    return name, focal, aperture, shutter, iso
