"""A catalog as the TOML file that `places.read` reads back."""

from typing import Any

import tomlkit

from lightplan.catalog.kit import FORMATS, Body, Entry
from lightplan.catalog.places import Catalog

_HEAD = "# lightplan: places and kit. The keys are explained in locations.example.toml."


def dumps(catalog: Catalog) -> str:
    """Return the catalog as TOML 1.0; `places.read` of it gives the same catalog."""
    return f"{_HEAD}\n\n{tomlkit.dumps(document(catalog))}"


def document(catalog: Catalog) -> dict[str, Any]:
    """Return the catalog as the tables of its file, without default values."""
    tables = {
        kind: [table(entry) for entry in getattr(catalog, kind)]
        for kind in ("places", "covers", "bodies", "lenses", "converters", "rigs")
    }
    light = table(catalog.light)
    return {
        **({"light": light} if light else {}),
        **{k: v for k, v in tables.items() if v},
    }


def table(entry: Entry) -> dict[str, Any]:
    """Return one entry as a table of its file."""
    dumped = entry.model_dump(by_alias=True, exclude_defaults=True)
    if isinstance(entry, Body) and entry.format is not None:
        width, height = FORMATS[entry.format]  # only other values are written
        if (entry.width_mm, entry.height_mm) == (width, height):
            del dumped["width_mm"], dumped["height_mm"]
    plain: dict[str, Any] = _plain(dumped)
    return plain


def _plain(value: Any) -> Any:
    """Return lists for tuples, and whole numbers without a decimal point."""
    if isinstance(value, dict):
        return {key: _plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(inner) for inner in value]
    if isinstance(value, float) and value.is_integer():
        return int(value)
    return value
