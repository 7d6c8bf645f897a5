"""The values of the command line's options, as typed: read, or refused."""

import argparse
from collections.abc import Iterable
from difflib import get_close_matches

from lightplan.light import daylight


def drive_sky(text: str) -> tuple[str, str]:
    """Read ``2027-08-12-evening=overcast``: a drive's key and its sky."""
    key, equals, sky = text.partition("=")
    if not (key and equals):
        raise argparse.ArgumentTypeError(
            f"must be a drive and its sky like 2027-08-12-evening=overcast, got {text!r}"
        )
    try:
        return key, daylight.sky_named(sky).key
    except ValueError as error:
        raise argparse.ArgumentTypeError(f"{error} for {key!r}") from None


def check_drives(skies: Iterable[tuple[str, str]], drives: list[str]) -> None:
    """Raise ValueError if a drive that was given a sky is not one of the trip's."""
    for key, _ in skies:
        if key not in drives:
            near = get_close_matches(key, drives, n=1, cutoff=0.0)
            hint = f"the nearest is {near[0]!r}" if near else "it has none"
            raise ValueError(f"--drive-sky {key!r} is no drive of this trip ({hint})")


def ratio(text: str, what: str) -> float:
    """Read ``420``, ``0.0005`` or ``1/2000``."""
    number, slash, divisor = text.partition("/")
    try:
        return float(number) / float(divisor) if slash else float(number)
    except (ValueError, ZeroDivisionError):
        raise ValueError(
            f"{what} must be a number or a fraction like 1/2000, got {text!r}"
        ) from None
