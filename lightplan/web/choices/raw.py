"""What a person chose, as texts: the same in the form and in a link."""

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import parse_qsl, unquote, urlencode

from lightplan.catalog import positions
from lightplan.loop import route
from lightplan.trip.request import MAX_RIGS
from lightplan.web import ids
from lightplan.web.choices import typed

LONGEST_LINK = 8000  # characters that are read of one
LONGEST_LIST = 8000  # characters of marks and skies: 62 days of three drives

_COARSE = {
    ids.LATITUDE: positions.coarse_text,
    ids.LONGITUDE: positions.coarse_text,
    ids.LEGS: route.coarse_start,
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
        """Read a query string; unknown names are left out, nothing is checked."""
        pairs = parse_qsl(search.removeprefix("?")[:LONGEST_LINK])
        found = dict(pairs)
        rigs = [_parted(text) for name, text in pairs if name == "rig"]
        fields = tuple(
            (name, typed.cut(found[name], _longest(name)))
            for name in ids.FIELDS
            if name in found
        )
        return cls(fields, tuple(rigs), typed.cut(found.get(ids.SELECTED, "")))

    @classmethod
    def from_form(cls, form: Mapping[str, object], drive: str = "") -> "Raw":
        """Take the values of the page's controls, keyed by their ids, as texts."""
        fields = tuple(
            (name, typed.text(form.get(name), _longest(name))) for name in ids.FIELDS
        )
        rigs = []
        for slot in range(MAX_RIGS):
            name, *rest = (
                typed.text(form.get(ids.slot_field(field, slot)))
                for field in ids.RIG_FIELDS
            )
            if name:
                focal, aperture, shutter, iso = rest
                rigs.append((name, focal, aperture, shutter, iso))
        return cls(fields, tuple(rigs), drive)

    def __getitem__(self, field: str) -> str:
        """Return the text of a field, empty if it is not there."""
        return dict(self.fields).get(field, "")

    def replaced(self, changes: Mapping[str, str]) -> "Raw":
        """Return the same with some fields changed and no drive selected."""
        return Raw(tuple({**dict(self.fields), **changes}.items()), self.rigs)

    @property
    def fills_a_link(self) -> bool:
        """Whether a link holds all of it: it has no empty texts and is not endless."""
        optional = ids.OPTIONAL
        if self[ids.PLACE] != ids.OWN:
            optional |= {*ids.OWN_FIELDS}
        empty = {name for name in ids.FIELDS if self[name] == ""}
        whole = empty <= optional and bool(self.rigs)
        return whole and len(self.search()) <= LONGEST_LINK

    def search(self) -> str:
        """Return the query string that `from_search` reads back.

        A position in it has two decimals: browsers keep addresses, servers log them.
        """
        # A place of the file brings its own position and zone.
        implied = () if self[ids.PLACE] == ids.OWN else ids.OWN_FIELDS
        pairs = [
            (name, _COARSE[name](text) if name in _COARSE else text)
            for name, text in self.fields
            if text != "" and name not in implied
        ]
        pairs += [("rig", _joined(rig)) for rig in self.rigs]
        if self.drive:
            pairs.append((ids.SELECTED, self.drive))
        return "?" + urlencode(pairs)


def _longest(name: str) -> int:
    if name == ids.LEGS:
        return route.LONGEST_TEXT + 1  # so that a longer text is told, not cut
    return LONGEST_LIST if name in ids.LISTS else typed.LONGEST


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
