"""The form of one entry, built from its typed texts."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import dash_mantine_components as dmc
from dash import html
from dash.development.base_component import Component

from lightplan.catalog.places import Catalog
from lightplan.catalog.toml import table as as_table
from lightplan.web import ids
from lightplan.web.form import POPUPS
from lightplan.web.kit import edit
from lightplan.web.kit import fields as catalog_fields
from lightplan.web.kit import texts as catalog_texts
from lightplan.web.kit.edit import ONE_OF
from lightplan.web.kit.fields import FIELDS, HINTS, Field, Options, Part
from lightplan.web.kit.texts import Texts
from lightplan.web.parts import aria

# A typed text as the browser keeps it: part, row, key, text.
Flat = list[list[Any]]


def saved(catalog: Catalog, kind: str, name: str) -> Texts:
    """Return the texts of a saved entry, blank ones for a new entry."""
    entry = edit.entry(catalog, kind, name) if name else None
    if entry is None:
        return catalog_texts.blank(kind)
    return catalog_texts.texts(kind, as_table(entry))


def flat(kind: str, texts: Texts) -> Flat:
    """Return typed texts as the browser keeps them, one line per field."""
    lines: Flat = [["", 0, f.key, texts[""][0].get(f.key, "")] for f in FIELDS[kind]]
    for part in catalog_fields.parts(kind):
        for row, typed in enumerate(texts.get(part.key, ())):
            lines += [[part.key, row, f.key, typed.get(f.key, "")] for f in part.fields]
    return lines


def unflat(kind: str, lines: Iterable[Sequence[Any]]) -> Texts:
    """Read back what `flat` gave, or what a browser made of it."""
    rows: dict[str, dict[int, dict[str, str]]] = {"": {0: {}}}
    for part, row, key, text in lines:
        typed = "" if text is None else str(text)
        rows.setdefault(str(part), {}).setdefault(int(row), {})[str(key)] = typed
    known = [part.key for part in catalog_fields.parts(kind)]
    parts = {
        key: [row for _, row in sorted(rows.get(key, {}).items())] for key in known
    }
    return {"": [rows[""][0]], **parts}


def read(fields: Iterable[Mapping[str, Any]], values: Iterable[Any]) -> Flat:
    """Return what is typed, from the ids of the fields and their values."""
    return [
        [field["part"], field["row"], field["key"], "" if value is None else str(value)]
        for field, value in zip(fields, values, strict=True)
    ]


def form(kind: str, title: str, texts: Texts, catalog: Catalog) -> list[Component]:
    """Return the fields of an entry, filled with the texts given."""
    (own,) = texts[""]
    head = html.H2(title, id=ids.KIT_TITLE, tabIndex=-1)
    fields = [_control(f, own, "", 0, _options(f, kind, catalog)) for f in FIELDS[kind]]
    return [
        head,
        html.Div(fields, className="fields"),
        *([html.P(HINTS[kind], className="muted")] if kind in HINTS else []),
        *(_part(p, texts.get(p.key, []), catalog) for p in catalog_fields.parts(kind)),
    ]


def _options(field: Field, kind: str, catalog: Catalog) -> Options:
    """Return a field's options, with the catalog's own covers and the parts of rigs."""
    if field.key == "cover":
        own = tuple((cover.name, cover.name) for cover in catalog.covers)
        return (*field.options, *own)
    if kind != "rigs" or field.control != "choice":
        return field.options
    of = {"body": "bodies", "lens": "lenses", "converter": "converters"}[field.key]
    names = [entry.name for entry in getattr(catalog, of)]
    return (*field.options, *((name, name) for name in names))


def _part(part: Part, rows: list[dict[str, str]], catalog: Catalog) -> html.Section:
    return html.Section(
        [
            html.H3(part.title),
            html.P(part.hint, className="muted"),
            *(_row(part, number, row, catalog) for number, row in enumerate(rows)),
            html.Button(
                f"Add a {part.one}", id=ids.kit_add(part.key), className="quiet"
            ),
        ],
        className="part",
    )


def _row(
    part: Part, number: int, row: dict[str, str], catalog: Catalog
) -> html.Fieldset:
    name = f"{part.one} {number + 1}"
    return html.Fieldset(
        [
            html.Legend(name.capitalize(), className="visually-hidden"),
            html.Div(
                [
                    _control(f, row, part.key, number, _options(f, part.key, catalog))
                    for f in part.fields
                ],
                className="fields",
            ),
            html.Button(
                f"Remove {name}", id=ids.kit_drop(part.key, number), className="quiet"
            ),
        ],
        className=f"row-of-{part.key}",
    )


def _control(
    field: Field, row: dict[str, str], part: str, number: int, options: Options
) -> Component:
    text = row.get(field.key, "")
    name = ids.kit_field(part, number, field.key)
    if field.control in ("choice", "search"):
        # A value that is not among the options, such as an unknown lens, is shown too.
        listed = options if text in ("", *dict(options)) else (*options, (text, text))
        control: Component = dmc.Select(
            id=name,
            label=field.label,
            value=text if text in dict(listed) else None,
            data=[{"value": value, "label": label} for value, label in listed],
            placeholder=field.like,
            allowDeselect=False,
            searchable=field.control == "search",
            comboboxProps=POPUPS,
        )
    elif field.control == "number":
        control = dmc.NumberInput(
            id=name,
            label=field.label,
            value=text,
            placeholder=field.like,
            hideControls=True,
        )
    else:
        control = dmc.TextInput(
            id=name, label=field.label, value=text, placeholder=field.like
        )
    return html.Div(control, className="wide" if field.wide else "")


def lists(
    catalog: Catalog, drafts: Mapping[str, Flat], at: tuple[str, str]
) -> tuple[list[Component], dict[str, list[str]]]:
    """Return the lists of all entries, and the names behind their buttons.

    Entries with unsaved texts are marked; unsaved texts without an entry are listed
    too.
    """
    names = {kind: _listed(catalog, kind, drafts) for kind in ONE_OF}
    return [_list(kind, names[kind], catalog, drafts, at) for kind in ONE_OF], names


def _listed(catalog: Catalog, kind: str, drafts: Mapping[str, Flat]) -> list[str]:
    kept = [entry.name for entry in getattr(catalog, kind)]
    typed = [key.partition(":")[2] for key in drafts if key.startswith(f"{kind}:")]
    return kept + [name for name in typed if name and name not in kept]


def _list(
    kind: str,
    names: list[str],
    catalog: Catalog,
    drafts: Mapping[str, Flat],
    at: tuple[str, str],
) -> html.Details:
    one = ONE_OF[kind]
    kept = {entry.name for entry in getattr(catalog, kind)}
    buttons = [
        _open(
            name,
            ids.kit_entry(kind, index),
            ("" if name in kept else "removed, ")
            + ("not saved" if f"{kind}:{name}" in drafts else ""),
            at == (kind, name),
        )
        for index, name in enumerate(names)
    ]
    new = _open(
        f"Add a {one}",
        ids.kit_entry(kind, -1),
        "not saved" if f"{kind}:" in drafts else "",
        at == (kind, ""),
    )
    return html.Details(
        [
            html.Summary([kind.capitalize(), html.Span(f" {len(kept)}")]),
            html.Ul([html.Li(button) for button in (*buttons, new)]),
        ],
        open=kind in ("places", at[0]),
    )


def _open(name: str, id_: ids.KitId, mark: str, chosen: bool) -> html.Button:
    new = id_["index"] == -1
    return html.Button(
        [name, html.Span(f" · {mark}", className="muted") if mark else ""],
        id=id_,
        className="entry new" if new else "entry",
        **aria(current="true" if chosen else "false"),
    )
