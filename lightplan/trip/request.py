"""What a person chooses: place, dates, kit and conditions, and their limits."""

import datetime as dt
from dataclasses import dataclass, replace
from typing import NamedTuple

from lightplan import errors
from lightplan.camera import exposure
from lightplan.camera.noise import USABLE_SNR, USUAL_OUTPUT, output_named
from lightplan.camera.pace import nearest_pace
from lightplan.camera.shake import hold_named
from lightplan.catalog import kit
from lightplan.catalog.kit import ANIMAL, BLUR_PX, DISTANCE_M, HAND, Rig
from lightplan.catalog.places import Place
from lightplan.light import daylight
from lightplan.light.air import checked_aod
from lightplan.sky.windows import DEFAULT_LIMITS, Limits

MAX_RIGS = 6
LETTERS = "ABCDEF"
# Limits of the values behind the proposed shutter.
DISTANCES_M, BLURS_PX = (1.0, 2000.0), (0.5, 50.0)

# Defaults: rigs of the file, days, minutes to the gate.
USUAL_RIGS, USUAL_DAYS, USUAL_TRAVEL_MIN = 3, 7, 25


class Facing(NamedTuple):
    """A side of the sun: the angle between camera and sun seen from the animal."""

    key: str
    label: str
    angle_deg: float


FACINGS = (
    Facing("front", "lit from the front", 0.0),
    Facing("side", "lit from the side", 90.0),
    Facing("back", "lit from behind", 180.0),
)
FACING_INDEX = {facing.key: i for i, facing in enumerate(FACINGS)}


class Gold(NamedTuple):
    """What a person takes for the best light: its name, and what it goes by."""

    key: str
    label: str
    by: str


GOLDS = {
    gold.key: gold
    for gold in (
        Gold("warm", "warm light", "colour"),
        Gold("golden", "golden light", "sun’s altitude"),
    )
}
# What is warmer counts as warm, unless a person says otherwise: between a studio's
# tungsten light (3,200 K) and noon (5,500 K), judgement.
WARM_K, WARM_K_RANGE = 4500.0, (2000.0, 7000.0)


@dataclass(frozen=True, slots=True)
class RigChoice:
    """A rig as it will be used, with the highest ISO accepted from it.

    ``ceiling_typed`` says whether a person set that, or noise.
    """

    rig: Rig
    focal_mm: float
    f_number: float
    shutter_s: float
    iso_ceiling: float
    ceiling_typed: bool = True

    @property
    def ceiling_text(self) -> str:
        """``ISO 6400``, the highest accepted."""
        return exposure.iso_limit_text(self.iso_ceiling, self.ceiling_typed)

    @property
    def t_number(self) -> float:
        """The f-number of a lens without losses that is as bright."""
        return float(self.f_number / self.rig.lens.transmission**0.5)

    def set_text(self, iso: float) -> str:
        """Write what to set for a needed ISO: ``ISO 3200``.

        Below the body's base ISO, a faster shutter: ``ISO 100, 1/4000 s``.
        """
        base = self.rig.body.base_iso
        if iso >= base:
            return exposure.iso_text(iso)
        iso, shutter_s = exposure.from_base(iso, self.shutter_s, base)
        shutter = exposure.shutter_text(exposure.nominal_shutter_s(shutter_s))
        return f"{exposure.iso_text(iso)}, {shutter}"

    @property
    def label(self) -> str:
        """``600 mm f/6.3``."""
        return f"{self.focal_mm:.0f} mm {exposure.f_number_text(self.f_number)}"


@dataclass(frozen=True, slots=True)
class Request:
    """Everything a person chooses; hashable, so that plans can be cached.

    ``skies`` holds (drive key, sky) pairs, for drives with a forecast of their
    own. ``hold``, ``animal``, ``distance_m`` and ``blur_px`` say with the pace how
    many frames are sharp; the rigs' shutter times are chosen already. ``aod500`` is
    the air chosen, an optical depth at 500 nm; None for the place's own. ``gold``, a key of
    `GOLDS`, says which light is best; light below ``warm_k`` [K] is warm.
    """

    place: Place
    first: dt.date
    last: dt.date
    rigs: tuple[RigChoice, ...]
    pace: str = "walking"
    facing: str = "side"
    sky: str = "clear"
    cover: str | daylight.Cover = "open"
    travel_min: int = USUAL_TRAVEL_MIN
    limits: Limits = DEFAULT_LIMITS
    skies: tuple[tuple[str, str], ...] = ()
    hold: str = HAND
    animal: str = ANIMAL
    distance_m: float = DISTANCE_M
    blur_px: float = BLUR_PX
    output: str = USUAL_OUTPUT
    aod500: float | None = None
    gold: str = "warm"
    warm_k: float = WARM_K

    @property
    def best(self) -> Gold:
        """The light that counts as the best."""
        return GOLDS[self.gold]

    def sky_of(self, key: str) -> str:
        """Return the sky of a drive: its own forecast, else the trip's."""
        return dict(self.skies).get(key, self.sky)

    def aod_in(self, month: int) -> float:
        """Return the air's optical depth in a month, 1 to 12: chosen, or the place's."""
        months = self.place.air
        given = months[month - 1] if self.aod500 is None and months else self.aod500
        return checked_aod(given)

    def in_air(self, sky: str, month: int) -> daylight.Sky:
        """Return a sky in the air of a month, unless it has an air of its own."""
        kind = daylight.sky_named(sky)
        if kind.aod500 is not None:
            return kind
        return replace(kind, aod500=self.aod_in(month))


def choose(
    rig: Rig,
    pace: str = "walking",
    focal_mm: float | None = None,
    f_number: float | None = None,
    shutter_s: float | None = None,
    iso_ceiling: float | None = None,
    distance_m: float = DISTANCE_M,
    blur_px: float = BLUR_PX,
    hold: str = HAND,
    animal: str = ANIMAL,
    output: str = USUAL_OUTPUT,
) -> RigChoice:
    """Return a rig as it will be used, filling in the defaults.

    Parameters
    ----------
    rig : Rig
        Body, lens and converter.
    pace : str
        A key of `camera.pace.PACES`; proposes the shutter.
    focal_mm : float, optional
        Converter included; the longest if left open. [mm]
    f_number : float, optional
        The widest at that focal length if left open.
    shutter_s : float, optional
        Proposed as by `kit.proposed_shutter_s` if left open. [s]
    iso_ceiling : float, optional
        The body's own if left open; if it has none, that up to which a picture
        for ``output`` is usable. [ISO]
    distance_m, blur_px : float
        Subject distance [m] and tolerated blur [pixels].
    hold, animal : str
        Keys of `camera.shake.HOLDS` and `camera.animals.ANIMALS`.
    output : str
        What the picture is for, a key of `noise.OUTPUTS`.

    Raises
    ------
    ValueError
        If a value is not positive, or the lens does not have it.
    """
    focal = rig.checked_focal_mm(
        rig.focal_range_mm[1] if focal_mm is None else focal_mm
    )
    low, high = rig.focal_range_mm
    focal = min(max(focal, low), high)
    number = (
        rig.widest_f_number(focal)
        if f_number is None
        else rig.checked_f_number(f_number, focal)
    )
    if shutter_s is None:
        shutter_s = kit.proposed_shutter_s(
            rig, focal, pace, distance_m, blur_px, hold, animal
        )
    if not 1 / 32000 <= shutter_s <= 1:
        raise ValueError(
            f"shutter of {rig.name} must be between 1/32000 s and 1 s, got "
            f"{shutter_s:g} s"
        )
    given = rig.body.iso_ceiling if iso_ceiling is None else iso_ceiling
    if given is None:
        noisy = rig.body.iso_at(USABLE_SNR, output)
        return RigChoice(rig, focal, number, shutter_s, noisy, False)
    if not 50 <= given <= 1_000_000:
        raise ValueError(
            f"ISO ceiling of {rig.name} must be between 50 and 1000000, got {given:g}"
        )
    return RigChoice(rig, focal, number, shutter_s, given)


def check(request: Request) -> None:
    """Raise ValueError with one sentence if a choice is unknown or out of range."""
    for sky in (request.sky, *(sky for _, sky in request.skies)):
        daylight.sky_named(sky)
    daylight.cover_named(request.cover)
    checked_aod(request.aod500)
    if request.gold not in GOLDS:
        raise ValueError(errors.one_of("best light", request.gold, GOLDS))
    output_named(request.output)
    if request.facing not in FACING_INDEX:
        raise ValueError(errors.one_of("facing", request.facing, FACING_INDEX))
    nearest_pace(request.animal, request.pace)
    hold_named(request.hold)
    for what, value, (low, high), unit in (
        ("distance to the animal", request.distance_m, DISTANCES_M, "m"),
        ("blur", request.blur_px, BLURS_PX, "px"),
        ("limit of warm light", request.warm_k, WARM_K_RANGE, "K"),
    ):
        if not low <= value <= high:
            raise ValueError(
                f"{what} must be {low:g} to {high:g} {unit}, got {value:g}"
            )
    if not 1 <= len(request.rigs) <= MAX_RIGS:
        raise ValueError(
            f"choose 1 to {MAX_RIGS} rigs to compare, got {len(request.rigs)}"
        )
    if not 0 <= request.travel_min <= 600:
        raise ValueError(
            f"travel time must be 0 to 600 minutes, got {request.travel_min}"
        )
