"""The page Kit and places: the lists, and a form for each entry."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from dash import dcc, html
from dash.development.base_component import Component

from lightplan.catalog import positions
from lightplan.catalog.places import Loaded
from lightplan.choices import state
from lightplan.choices.raw import Raw
from lightplan.web import ids, layout
from lightplan.web import saved as own
from lightplan.web.kit import fields, form
from lightplan.web.kit import texts as catalog_texts
from lightplan.web.kit.edit import ONE_OF, entry
from lightplan.web.pages import Visit
from lightplan.web.parts import aria


def page(visit: Visit) -> Component:
    """Return the page for what a browser keeps; its callbacks fill it.

    ``raw`` are the choices that the links to the other pages carry.
    """
    raw, served, record = visit.raw, visit.served, visit.record
    base = {"text": own.text_of(record), "revision": own.revision_of(record)}
    body = [
        html.Main(
            [
                html.P(
                    own.answer(record, served), id=ids.KIT_ANSWER, className="answer"
                ),
                html.P(
                    "Changes are saved in this browser only. Download them as a file "
                    "for a copy, or to load on another device; a change made here "
                    "drops the comments in a file.",
                    className="muted",
                ),
                html.P(
                    (
                        "The file contains the positions of your places. "
                        f"{positions.CAUTION}"
                    ),
                    className="muted",
                ),
                _files(bool(base["text"])),
                status(),
                html.Div(
                    [
                        html.Section(
                            id=ids.KIT_LISTS,
                            className="entries",
                            **aria(label="Places and kit"),
                        ),
                        html.Section(
                            [html.Div(id=ids.KIT_FORM), _foot()],
                            className="entry-form",
                            **aria(label="The chosen entry"),
                        ),
                    ],
                    className="entries-and-form",
                ),
            ],
            id="kit",
            className="kit",
            tabIndex=-1,
        ),
        dcc.Store(id=ids.KIT_BASE, data=base),
        dcc.Store(id=ids.KIT_LINK, data=raw.search()),
        *(
            dcc.Store(id=name)
            for name in (
                ids.KIT_AT,
                ids.KIT_VIEW,
                ids.KIT_ORIGINAL,
                ids.KIT_NAMES,
                ids.KIT_WANTED,
                ids.KIT_NEWER,
            )
        ),
    ]
    pages = html.Nav(_links(raw), id=ids.KIT_PAGES, **aria(label="Pages"))
    return layout.shell(pages, body, "Skip to places and kit", "#kit")


def _links(raw: Raw) -> list[html.A]:
    """Return links to all pages; the other pages' own follow their forms."""
    return layout.links("kit", raw, ids.kit_nav_link)


def _files(has_own: bool) -> html.Div:
    return html.Div(
        [
            _button("Download as a file", ids.KIT_DOWNLOAD),
            _button("Load a file", ids.KIT_LOAD),
            _button("Use the built-in file again", ids.KIT_RESET, hidden=not has_own),
            dcc.Download(id=ids.KIT_FILE),
        ],
        className="files",
    )


def status() -> html.Div:
    """Return the line and the question about a change, for every page with changes."""
    return html.Div(
        [
            # The page's button opens it, as keyboards and screen readers work with a
            # button. It takes any file: it would ignore a wrong kind without a word.
            html.Div(dcc.Upload(id=ids.KIT_UPLOAD), className="hidden"),
            html.P(id=ids.KIT_SAID, role="status"),
            html.Div(
                [
                    html.P(id=ids.KIT_QUESTION, role="alert"),
                    _button("Yes", ids.KIT_YES),
                    _button("Leave it as it is", ids.KIT_NO),
                    _button("Load the newer one", ids.KIT_LATEST),
                    _button("Keep both", ids.KIT_BOTH),
                ],
                id=ids.KIT_ASK,
                className="hidden",
            ),
        ],
        className="kit-status",
    )


def _foot() -> html.Div:
    return html.Div(
        [
            html.Button("Save", id=ids.KIT_SAVE, className="save"),
            _button("Undo unsaved changes", ids.KIT_DISCARD, hidden=True),
            _button("Remove", ids.KIT_REMOVE, hidden=True),
            html.Span(id=ids.KIT_UNSAVED, className="muted"),
        ],
        className="foot",
    )


def _button(text: str, name: str, hidden: bool = False) -> html.Button:
    return html.Button(text, id=name, className="quiet hidden" if hidden else "quiet")


def content(
    view: Mapping[str, Any], base: object, served: Loaded, link: str, now: dt.datetime
) -> dict[str, Any]:
    """Return what the page shows: the sentence, the lists, the form of one entry.

    ``view`` says which entry (``at``) and what was typed and not saved
    (``drafts``); ``link`` are the choices that links to other pages carry.
    """
    catalog = own.catalog(base, served)
    raw, _ = state.mended(Raw.from_search(link), catalog, now)
    drafts = view.get("drafts") or {}
    kind, name = _at(view.get("at") or {}, base, served, drafts)
    kept = entry(catalog, kind, name) is not None
    saved = form.saved(catalog, kind, name)
    key = f"{kind}:{name}"
    texts = form.unflat(kind, drafts[key]) if key in drafts else saved
    title = name if kept else f"{name}, removed" if name else f"A new {ONE_OF[kind]}"
    entries, names = form.lists(catalog, drafts, (kind, name))
    return {
        "pages": _links(raw),
        "answer": own.answer(base, served),
        "lists": entries,
        "names": names,
        "form": form.form(kind, title, texts, catalog),
        "original": {
            "kind": kind,
            "name": name,
            "title": title,
            "draft": key,
            "lines": form.flat(kind, saved),
        },
        "save": f"Save this {ONE_OF[kind]}",
        "remove": f"Remove this {ONE_OF[kind]}",
        "can_remove": "quiet" if kept else "quiet hidden",
        "can_reset": "quiet" if own.text_of(base) else "quiet hidden",
    }


def _at(
    at: Mapping[str, Any], base: object, served: Loaded, drafts: Mapping[str, Any]
) -> tuple[str, str]:
    """Return the entry asked for, the first of its kind if it is missing."""
    kind = at.get("kind") if at.get("kind") in ONE_OF else "places"
    name = at.get("name")
    catalog = own.catalog(base, served)
    known = name == "" or f"{kind}:{name}" in drafts
    if isinstance(name, str) and (known or entry(catalog, str(kind), name)):
        return str(kind), name
    entries = getattr(catalog, str(kind))
    return str(kind), entries[0].name if entries else ""


def with_row(kind: str, lines: form.Flat, part: str) -> catalog_texts.Texts:
    """Return the typed texts with one more row of a part."""
    texts = form.unflat(kind, lines)
    texts[part].append(fields.usual(part))
    return texts


def without_row(
    kind: str, lines: form.Flat, part: str, row: int
) -> catalog_texts.Texts:
    """Return the typed texts without a row of a part."""
    texts = form.unflat(kind, lines)
    del texts[part][row : row + 1]
    return texts
