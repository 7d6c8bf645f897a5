"""ARIA attributes, whose names with a hyphen Python cannot spell."""

from typing import Any


def aria(**values: str) -> dict[str, Any]:
    """Return keyword arguments: ``aria(label="x")`` sets ``aria-label``."""
    return {f"aria-{name}": value for name, value in values.items()}
