"""Changes of a browser's catalog: checked, and written or refused with a sentence."""

import base64
from typing import Any

from lightplan.catalog.merge import PARTS
from lightplan.catalog.places import Catalog, Loaded, PlacesError
from lightplan.catalog.toml import dumps
from lightplan.choices import typed
from lightplan.errors import as_sentence
from lightplan.web import saved as own
from lightplan.web.kit import edit, fields, form
from lightplan.web.kit import texts as catalog_texts
from lightplan.web.saved import Wanted

Sent = dict[str, Any]


def saved(original: Sent, lines: form.Flat, base: object, served: Loaded) -> Sent:
    """Return the catalog with the typed entry added, or what is wrong with it."""
    kind, name = original["kind"], original["name"]
    texts = form.unflat(kind, lines)
    table = catalog_texts.table(kind, texts)
    try:
        changed = edit.put(own.catalog(base, served), kind, name, table)
    except PlacesError as error:
        return _refused(fields.in_words(str(error)))
    now = str(table["name"])
    said = " ".join((f"Saved: {now}.", *catalog_texts.left_out(kind, texts)))
    return _wanted(
        Wanted(
            text=dumps(changed),
            base=own.revision_of(base),
            said=f"{said}{_unused(changed, kind, now)}",
            kind=kind,
            name=now,
            draft=original["draft"],
        )
    )


def _unused(catalog: Catalog, kind: str, name: str) -> str:
    """Say that no rig uses a body, lens or converter: pages offer only rigs."""
    part = PARTS.get(kind)
    if part is None or any(getattr(rig, part) == name for rig in catalog.rigs):
        return ""
    return " No rig uses it yet: add one to plan with it."


def removed(original: Sent, base: object, served: Loaded) -> Sent:
    """Return the catalog without the entry shown; its texts stay in the form."""
    kind, name = original["kind"], original["name"]
    try:
        changed = edit.without(own.catalog(base, served), kind, name)
    except PlacesError as error:
        return _refused(str(error))
    wanted = Wanted(
        text=dumps(changed),
        base=own.revision_of(base),
        said=f"Removed: {name}. Its form is still here; saving it puts it back.",
        kind=kind,
        name=name,
    )
    return _wanted(wanted, left=original["lines"])


def from_file(contents: str, name: str, base: object, served: Loaded) -> Sent:
    """Return the catalog of a file that was loaded, or what is wrong with it."""
    name = "".join(filter(str.isprintable, name)) or "the file"
    try:
        text = base64.b64decode(contents.partition(",")[2]).decode("utf-8-sig")
    except ValueError:  # neither base64 nor UTF-8
        return _refused(f"{name} is not UTF-8 text", _KEPT)
    try:
        loaded = own.read(text, name)
    except PlacesError as error:
        return _refused(str(error), _KEPT)
    now = own.counted(own.catalog(base, served))
    ask = (
        f"This browser has {now} of yours. Replace them with the "
        f"{own.counted(loaded)} in {name}?"
    )
    return _wanted(
        Wanted(
            text=text,
            base=own.revision_of(base),
            said=f"Loaded: {name}.",
            ask=ask if own.text_of(base) else "",
            yes="Use the file",
        )
    )


def without_own(base: object, served: Loaded) -> Sent:
    """Return the change after which the browser keeps nothing; the user is asked first."""
    now = own.counted(own.catalog(base, served))
    return _wanted(
        Wanted(
            text="",
            base=own.revision_of(base),
            said="The pages use the built-in file again.",
            ask=f"Remove your {now} from this browser? Download them first if you may "
            "want them again.",
            yes="Remove them",
        )
    )


_KEPT = "Nothing was changed."


def _refused(problem: str, more: str = "") -> Sent:
    said = f"{as_sentence(problem)} {more}".strip()
    return {"wanted": None, "said": said, "kind": "problem"}


def _wanted(wanted: Wanted, left: form.Flat | None = None) -> Sent:
    """Return a change for the browser; ``left`` are texts that stay in the form."""
    sent = {**wanted._asdict(), "left": left}
    return {"wanted": sent, "said": "", "kind": ""}


def both(wanted: Sent, base: object, newer: Sent, served: Loaded) -> Sent:
    """Return the change merged with what another tab has saved since."""
    try:
        return _wanted(own.both(wanted, base, newer.get("record"), served))
    except ValueError as error:
        return _refused(str(error))


def learned(name: object, cover: Sent, base: object, served: Loaded) -> Sent:
    """Return the catalog with a learned cover in it, under the name typed."""
    called = typed.text(name)
    catalog = own.catalog(base, served)
    before = called if edit.entry(catalog, "covers", called) else ""
    table = {**cover, "name": called}
    try:
        changed = edit.put(catalog, "covers", before, table)
    except PlacesError as error:
        return _refused(str(error), _KEPT)
    ask = f"A cover {called} is already saved. Replace it?"
    return _wanted(
        Wanted(
            text=dumps(changed),
            base=own.revision_of(base),
            said=f"Saved: {called}. You can now choose it under “Over the animal” on "
            "every page.",
            kind="covers",
            name=called,
            ask=ask if before else "",
            yes="Replace it",
        )
    )
