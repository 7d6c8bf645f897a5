"""The user's covers beside the presets, as stored in the TOML file."""

from dataclasses import replace
from typing import Annotated

from pydantic import AfterValidator, Field

from lightplan import errors
from lightplan.catalog.kit import Entry, Name, Number, Whole
from lightplan.light import daylight
from lightplan.light.daylight import Cover


def _preset(name: str) -> str:
    return daylight.cover_named(name).key


class OwnCover(Entry):
    """A user's cover: a number of stops darker than a preset.

    ``bursts`` and ``frames`` are how many it was learned from, 0 if it was typed in.
    """

    name: Name
    stops: Annotated[Number, Field(ge=-1, le=10)]
    spread_stops: Annotated[Number, Field(ge=0, le=5)]
    base: Annotated[str, AfterValidator(_preset)] = "open"
    bursts: Annotated[Whole, Field(ge=0)] = 0
    frames: Annotated[Whole, Field(ge=0)] = 0

    @property
    def cover(self) -> Cover:
        """The cover as `daylight` wants it: the base's shares, darker by ``stops``."""
        base = daylight.cover_named(self.base)
        share = 2.0**-self.stops
        return replace(
            base,
            key=self.name,
            label=self.name,
            beam_share=share * base.beam_share,
            sky_share=share * base.sky_share,
            spread_stops=self.spread_stops,
        )


def known(own: tuple[OwnCover, ...]) -> tuple[Cover, ...]:
    """Return the presets, then the user's covers."""
    return (*daylight.COVERS.values(), *(cover.cover for cover in own))


def named(name: str, own: tuple[OwnCover, ...]) -> str | Cover:
    """Return a cover as `Request` takes it: a preset's key, or a user's cover.

    ValueError lists the known ones.
    """
    if name in daylight.COVERS:
        return name
    for cover in own:
        if cover.name == name:
            return cover.cover
    raise ValueError(errors.one_of("cover", name, (c.key for c in known(own))))


def check_names(own: tuple[OwnCover, ...]) -> None:
    """Raise ValueError if a user's cover has the name of a preset."""
    for cover in own:
        if cover.name in daylight.COVERS:
            raise ValueError(f"cover {cover.name!r} must not have the name of a preset")
