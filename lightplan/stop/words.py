"""Sentences on a place to stop: one minute, the drive's rim, what to watch for."""

from typing import NamedTuple

import numpy as np

from lightplan import naming
from lightplan.camera import exposure, framing
from lightplan.light import air, backlight, daylight
from lightplan.naming import decimal
from lightplan.stop import rim
from lightplan.stop.rim import RimDrive
from lightplan.stop.stop import Stop
from lightplan.trip.plan import TripPlan
from lightplan.trip.request import LETTERS

CAUTIONS = (
    "Never look at the sun, and never aim a long lens at it through an optical "
    "finder; use the screen when the sun is in the frame or near it.",
    "Do not move an animal for the light, and do not block its way: wait, or leave it.",
    "The guide decides where the vehicle goes, on the roads that the reserve allows.",
)


class Rule(NamedTuple):
    """What the page is based on: physics, or practice and judgement."""

    kind: str
    text: str


RULES = (
    Rule(
        "Physics",
        "Where the sun is, the length of shadows, the angle of view of a lens, and "
        "the direct sun on the edge against the light on the side that the camera "
        "sees.",
    ),
    Rule(
        "Practice and judgement",
        "Light from "
        f"{180 - backlight.SECTORS[2].to_deg:.0f}–{180 - backlight.SECTORS[2].from_deg:.0f}° "
        "off the aim is called rim light, from closer to the aim backlight. The rim "
        f"works when the sun is at most {rim.BELOW_DEG:.0f}° high and the edge at "
        f"least {rim.LEAST_STOPS:.0f} stop brighter than the side that the camera "
        f"sees. A silhouette is {rim.SILHOUETTE_STOPS:.0f} stops under the face’s "
        f"exposure and needs a bright background. A sun closer than "
        f"{framing.NEAR_DEG:.0f}° to the frame is likely to cause flare. How brightly "
        "fur or feathers glow is not computed.",
    ),
)


def sun_place(at: Stop) -> str:
    """Return ``293° WNW, 8.2° high``."""
    return f"{naming.bearing(at.azimuth_deg)}, {height(at.apparent_deg)}"


def range_text(look: backlight.Look, declination_deg: float = 0.0) -> str:
    """Return ``118–142°``; compass bearings if a declination is given."""
    ends = (look.from_deg, look.to_deg)
    by_compass = (backlight.magnetic_deg(end, declination_deg) for end in ends)
    return "–".join(f"{round(end) % 360}" for end in by_compass) + "°"


def sun_side(at: Stop) -> str:
    """Say where the sun is relative to the aim."""
    off = (at.azimuth_deg - at.look_deg + 180.0) % 360.0 - 180.0
    if abs(off) < 0.5:
        return "straight ahead"
    if abs(off) > 179.5:
        return "straight behind you"
    return f"{abs(off):.0f}° to the {'right' if off > 0 else 'left'}"


def has_edge(at: Stop) -> bool:
    """Return whether the edge is visibly brighter than the rest."""
    return at.stops >= 0.05


def iso_text(iso: float) -> str:
    """Return ``ISO 3200``; past either end of the scale, say so instead."""
    lowest = exposure.ISO_SPEEDS[0]
    # This would need a setting a third of a stop below the scale.
    if iso < lowest * 2 ** (-1 / 3):
        return f"below ISO {lowest}"
    return exposure.iso_text(iso)


# Why there is no rim, by `Stop.trouble`.
_TROUBLES = {
    "": "",
    "unknown": "The sun’s position is not known for this minute, so no bearing can be "
    "given.",
    "zenith": "The sun stands overhead and has no bearing: no side of the animal is "
    "its shadow side.",
    "down": "The sun is below the horizon, so nothing has a lit edge{glow}.",
    "skyline": "The skyline, {skyline} high towards {bearing}, hides the sun, which "
    "stands at {altitude}.",
    "overcast": "This sky lets no direct sun through, so no side has a lit edge; the "
    "sun stands behind the cloud at {bearing}, {altitude} high.",
    "pole": "At the pole every direction is {away}: bearings are counted so that "
    "{noon}° follows the meridian of {longitude}°.",
    "high": "The sun, at {bearing}, is {altitude} high; a rim needs {limit}° or less.",
}


def trouble(plan: TripPlan, at: Stop) -> str:
    """Return the sentence on why there is no rim, empty if nothing prevents it."""
    place = plan.request.place
    north = place.latitude_deg > 0
    bearing = naming.bearing(at.azimuth_deg) if at.looks else ""
    return _TROUBLES[at.trouble].format(
        bearing=bearing,
        altitude=degrees(at.apparent_deg),
        skyline=degrees(at.skyline_deg),
        glow=f"; the sky is brightest towards {bearing}" if bearing else "",
        away="south" if north else "north",
        noon=180 if north else 0,
        longitude=f"{place.longitude_deg:g}",
        limit=f"{rim.BELOW_DEG:g}",
    )


def notes(plan: TripPlan, of: RimDrive, at: Stop) -> tuple[str, ...]:
    """Return what to watch for at one minute: sun in the frame, a weakened beam."""
    sentences = _in_frame(at)
    if at.trouble == "pole":
        sentences.append(trouble(plan, at))
    sky = of.drive.kind
    shows = bool(of.sun_shows[at.minute])
    dusty = (sky.aod500 or 0) > air.USUAL.aod500
    if sky.has_beam and (sky.cloud or dusty) and shows:
        sentences.append(_weaker(plan, of, at))
    cover = daylight.cover_named(plan.request.cover)
    if cover.beam_share < 1 and sky.has_beam:
        sentences.append(
            f"Under {cover.label} only about {naming.percent(cover.beam_share)} of the "
            "direct sun comes through, in flecks: where one falls on the edge, the rim "
            "is as on open ground."
        )
    return tuple(sentences)


def _in_frame(at: Stop) -> list[str]:
    letters = [
        LETTERS[i]
        for i, rig in enumerate(at.rigs)
        if rig.on_front and framing.nearness(rig.outside_deg) is framing.INSIDE
    ]
    if not letters:
        return []
    *others, last = letters
    all_of = f"{', '.join(others)} and {last}" if others else last
    return [
        f"Along this aim the sun is in the frame of {all_of}: keep your eye away from "
        "the finder and use the screen."
    ]


def _weaker(plan: TripPlan, of: RimDrive, at: Stop) -> str:
    sky = of.drive.kind
    clear = rim.clear_stops(plan, of)[at.minute]
    weakens = sky.label if sky.cloud else air.nearest(sky.aod500 or 0.2).label
    text = (
        f"{naming.sentence(weakens)} weakens the sun: the edge is {at.stops:.1f} stops "
        f"brighter than the shadow side, instead of {clear:.1f} under a clear sky in "
        "usual air"
    )
    cloud = ", and a cloud in front of the sun ends the rim at once"
    return text + (cloud if sky.cloud else "") + "."


def picture(of: RimDrive, at: Stop, spot: str = "") -> str:
    """Say what the drawing shows; ``spot`` is the one whose skyline it has."""
    path = path_text(of)
    if spot:
        path += f" The band on the horizon is the skyline of {spot}."
    if not at.looks:
        return f"Seen from above, north up, the animal in the middle. {path}"
    stand = backlight.stand_deg(at.look_deg)
    return (
        "Seen from above, north up: the animal in the middle, around it the vehicle’s "
        f"positions for each kind of light, {at.distance_m:g} m away. The numbers "
        "on the ring are the bearings to look along from there. Outside are the sky "
        "and the sun’s path, thicker while the rim works. The vehicle is drawn "
        f"{backlight.side_name(stand)} of the animal, looking along "
        f"{naming.bearing(at.look_deg)}: {at.sector.label}. {shadow(at)} {path}"
    )


def path_text(of: RimDrive) -> str:
    """Say which bearings the sun passes during the drive."""
    azimuth = of.drive.azimuth_deg[np.isfinite(of.drive.azimuth_deg)]
    if not len(azimuth):
        return ""
    # Past north the bearings run on, so that the least and the greatest bound them.
    path = np.unwrap(azimuth, period=360.0)
    least, most = float(path.min()), float(path.max())
    if most - least >= 360.0:
        return "Over the drive the sun goes all the way round."
    ends, bounds = (
        [round(x) for x in pair] for pair in ((path[0], path[-1]), (least, most))
    )
    first, last = naming.bearing(azimuth[0]), naming.bearing(azimuth[-1])
    if bounds[0] == bounds[1]:
        return f"Over the drive the sun stays at {first}."
    if sorted(ends) == bounds:
        return f"Over the drive the sun goes from {first} to {last}."
    low, high = naming.bearing(least % 360.0), naming.bearing(most % 360.0)
    return f"Over the drive the sun stays between {low} and {high}."


def shadow(at: Stop) -> str:
    """Say how long shadows are."""
    if not np.isfinite(at.shadow_per_m):
        return "No shadow."
    return (
        f"1 m of height casts a {shadow_text(at.shadow_per_m)} shadow, towards "
        f"{naming.bearing(backlight.stand_deg(at.azimuth_deg))}; it is not drawn to "
        "scale."
    )


def shadow_text(shadow_per_m: float) -> str:
    """Return the shadow of a metre of height, ``6.9 m``; a dash for none."""
    if not np.isfinite(shadow_per_m):
        return "–"
    return f"{shadow_per_m:.{0 if shadow_per_m >= 20 else 1}f} m"


def height(altitude_deg: float) -> str:
    """Return ``8.2° high`` or ``2.5° below the horizon``."""
    if altitude_deg >= 0:
        return f"{degrees(altitude_deg)} high"
    return f"{degrees(-altitude_deg)} below the horizon"


def degrees(value: float) -> str:
    """Return ``8.2°``."""
    return f"{decimal(value)}°"
