"""The animal in each rig's frame, and every rig's picture cropped to one framing."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lightplan.arrays import runs
from lightplan.camera import animals, focus, picture
from lightplan.camera.noise import CLEAN_SNR, USABLE_SNR
from lightplan.trip.request import Request, RigChoice

# Two animals stand so far apart, one behind the other: a body's length. Judgement.
PAIR_LENGTHS = 1.0


class InFrame(NamedTuple):
    """An animal in the frame of a rig.

    ``filled_share`` is the share of the frame along the tighter side, ``body_px`` and
    ``head_px`` run along body and head. ``fills_at_m`` is the distance at which
    ``filled_share`` is `picture.FILLED`. ``near_m`` and ``far_m`` bound what is sharp;
    ``nose_to_tail`` says whether, with the eye in focus on an animal that faces the
    camera, its tail is sharp. ``pair_f_number`` is what two animals a body's length
    apart need. ``background_share`` is the blur of a point `focus.BACKGROUND_M` behind, as
    a share of the picture's height.

    ``used_share`` is the share of the frame's area that the common framing keeps,
    ``megapixels`` what is left of it; up to ``clean_iso`` and ``usable_iso`` that
    picture is clean and usable.
    """

    filled_share: float
    body_px: float
    head_px: float
    fills_at_m: float
    near_m: float
    far_m: float
    nose_to_tail: bool
    pair_f_number: float
    background_share: float
    used_share: float
    megapixels: float
    clean_iso: float
    usable_iso: float


class Stretch(NamedTuple):
    """Minutes, the last excluded, and the index of their band in `noise.BANDS`."""

    first: int
    end: int
    band: int


def subject(request: Request) -> tuple[animals.Animal, float, bool]:
    """Return the animal, its distance [m], and whether it flies."""
    animal = animals.ANIMALS[request.animal]
    flies = request.pace == "flying" and animal.wings is not None
    return animal, request.distance_m, flies


def shares_used(rigs: tuple[RigChoice, ...]) -> list[float]:
    """Return the share of each rig's frame that the narrowest view among them keeps."""
    return picture.shares_used([(c.focal_mm, c.rig.body.sensor_mm) for c in rigs])


def in_frame(request: Request) -> tuple[InFrame | None, ...]:
    """Return the animal as each rig sees it; None for a lens too long to focus there.

    Depth and blur are those of the picture at the common framing: a crop is looked
    at as large as the whole, so that its circle of confusion is smaller.
    """
    return tuple(
        _framed(request, choice, share)
        for choice, share in zip(request.rigs, shares_used(request.rigs), strict=True)
    )


def _framed(request: Request, choice: RigChoice, share: float) -> InFrame | None:
    animal, distance_m, flies = subject(request)
    body, focal = choice.rig.body, choice.focal_mm
    if not 1000 * distance_m > focal:
        return None
    size_m = animal.size_m(flies)
    circle = focus.circle_mm(body.sensor_mm, share)
    near, far = focus.depth_of_field_m(focal, choice.f_number, distance_m, circle)
    behind_m = distance_m + PAIR_LENGTHS * animal.length_m
    pitch = body.pixel_pitch_mm
    blur_mm = focus.background_blur_mm(focal, choice.f_number, distance_m)
    return InFrame(
        filled_share=picture.frame_filled(size_m, distance_m, focal, body.sensor_mm),
        body_px=picture.pixels_on(size_m[0], distance_m, focal, pitch),
        head_px=picture.pixels_on(animal.head_m, distance_m, focal, pitch),
        fills_at_m=picture.distance_filling_m(
            picture.FILLED, size_m, focal, body.sensor_mm
        ),
        near_m=near,
        far_m=far,
        nose_to_tail=far >= distance_m + animal.length_m,
        pair_f_number=focus.f_number_for(distance_m, behind_m, focal, circle),
        background_share=blur_mm / (body.height_mm * share**0.5),
        used_share=share,
        megapixels=body.megapixels * share,
        clean_iso=body.iso_at(CLEAN_SNR, request.output, share),
        usable_iso=body.iso_at(USABLE_SNR, request.output, share),
    )


def stretches(iso: NDArray[np.float64], clean: float, usable: float) -> list[Stretch]:
    """Return the bands of a rig's needed ISO by the minute, in order of time."""
    band = np.digitize(iso[:-1], [clean * (1 + 1e-9), usable * (1 + 1e-9)])
    return [Stretch(a, b, int(band[a])) for a, b in runs(band)]
