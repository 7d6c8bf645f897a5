"""The rigs to compare, as typed, and what their proposed shutter assumes."""

from typing import TypedDict

from lightplan.camera.noise import USUAL_OUTPUT
from lightplan.catalog.kit import ANIMAL, BLUR_PX, DISTANCE_M, HAND
from lightplan.catalog.places import Catalog
from lightplan.choices import table, typed
from lightplan.choices.raw import Raw, RigTexts, rig_texts
from lightplan.trip.request import MAX_RIGS, RigChoice, choose


class Assumed(TypedDict):
    """What shutter and ISO limit go by, as `request.choose` and `Request` name it."""

    pace: str
    animal: str
    hold: str
    distance_m: float
    blur_px: float
    output: str


USUAL = Assumed(
    pace="walking",
    animal=ANIMAL,
    hold=HAND,
    distance_m=DISTANCE_M,
    blur_px=BLUR_PX,
    output=USUAL_OUTPUT,
)


def rigs(raw: Raw, catalog: Catalog) -> tuple[RigChoice, ...]:
    """Return the rigs to compare; ValueError on the first that is wrong, or none."""
    if not raw.rigs:
        raise ValueError(f"choose 1 to {MAX_RIGS} rigs to compare, got none")
    return tuple(_rig(rig, raw, catalog) for rig in raw.rigs)


def mended(raw: Raw, catalog: Catalog, problems: list[str]) -> tuple[RigTexts, ...]:
    """Return the rigs without wrong settings or rigs; adds to ``problems``."""
    kept = []
    for rig in raw.rigs[:MAX_RIGS]:
        trial = list(rig)
        # Blank one wrong setting after another, from the left.
        for _ in range(len(rig)):
            try:
                _rig(rig_texts(trial), raw, catalog)
            except ValueError as error:
                if str(error) not in problems:
                    problems.append(str(error))
                wrong = _wrong_setting(trial, raw, catalog)
                if wrong is None:
                    break
                trial[wrong] = ""
            else:
                kept.append(rig_texts(trial))
                break
    if len(raw.rigs) > MAX_RIGS:
        problems.append(f"at most {MAX_RIGS} rigs can be compared, got {len(raw.rigs)}")
    return tuple(kept)


def _wrong_setting(rig: list[str], raw: Raw, catalog: Catalog) -> int | None:
    """Return the first setting that is wrong by itself; None if it is the name."""
    for i in range(1, len(rig)):
        alone = [rig[0], "", "", "", ""]
        alone[i] = rig[i]
        if i == 2:  # whether an aperture is possible depends on the focal length
            alone[1] = rig[1]
        try:
            _rig(rig_texts(alone), raw, catalog)
        except ValueError:
            return i if rig[i] else None
    return None


def assumed(raw: Raw, catalog: Catalog) -> Assumed:
    """Return what shutter and ISO limit go by; ValueError on the first wrong text."""
    return {
        "pace": table.PACE.of(raw, catalog),
        "animal": table.WHICH.of(raw, catalog),
        "hold": table.HOLD.of(raw, catalog),
        "distance_m": table.DISTANCE.of(raw, catalog),
        "blur_px": table.BLUR.of(raw, catalog),
        "output": table.OUTPUT.of(raw, catalog),
    }


def _rig(texts: RigTexts, raw: Raw, catalog: Catalog) -> RigChoice:
    name, focal, aperture, shutter, iso = texts
    rig = catalog.rig(name)
    return choose(
        rig,
        focal_mm=typed.optional(focal, f"focal length of {name}", 1, 5000, " mm"),
        f_number=typed.optional(aperture, f"aperture of {name}", 0.5, 64),
        shutter_s=_shutter_s(shutter, name),
        iso_ceiling=typed.optional(iso, f"ISO ceiling of {name}", 50, 1_000_000),
        **assumed(raw, catalog),
    )


def _shutter_s(text: str, name: str) -> float | None:
    """Return the time of ``1/1000`` or ``1000`` [s], None for nothing."""
    what = f"shutter of {name}"
    try:
        denominator = typed.optional(text.removeprefix("1/"), what, 1, 32000)
    except ValueError:
        raise ValueError(typed.refusal(text, what, "1/1 to 1/32000 s")) from None
    return 1 / denominator if denominator else None
