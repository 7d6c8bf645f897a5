"""A rig's ladder in words: which shutter time holds until, or from, which minute."""

from collections.abc import Iterable

from lightplan.camera import exposure
from lightplan.camera.pace import PACES, limbs_m_s, nearest_pace
from lightplan.trip.minutes import FULL_STOPS_S, Outcome, Run, Rung
from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.trip.request import LETTERS, Request, RigChoice

# Slower rungs are shown while two frames in ten are sharp; the share is shown below
# eight in ten. Judgement.
LEAST_SHARE, EVEN_SHARE, SURE_SHARE = 0.2, 0.5, 0.8
MOST_RUNGS = 3
_SAME = 1e-6
SLOWEST_S = FULL_STOPS_S[-1]


def shown(drive: DrivePlan, outcome: Outcome, choice: RigChoice) -> tuple[Rung, ...]:
    """Return the rungs to show: the rig's own shutter time and slower full stops.

    Where one holds for the whole drive, slower ones add nothing.
    """
    found: list[Rung] = []
    for rung in outcome.ladder:
        if rung.shutter_s < choice.shutter_s * (1 - _SAME):
            continue
        slower = rung.shutter_s > choice.shutter_s * (1 + _SAME)
        if slower and rung.sharp_share < LEAST_SHARE:
            break
        found.append(rung)
        if throughout(drive, rung) or len(found) == MOST_RUNGS:
            break
    return tuple(found)


def slower(drive: DrivePlan, outcome: Outcome, choice: RigChoice) -> tuple[Rung, ...]:
    """Return those of `shown` that are slower than the rig's own shutter time."""
    own = choice.shutter_s * (1 + _SAME)
    return tuple(r for r in shown(drive, outcome, choice) if r.shutter_s > own)


def next_best(drive: DrivePlan, outcome: Outcome, choice: RigChoice) -> Rung | None:
    """Return the slowest of `slower` with half of its frames sharp, else the first."""
    found = slower(drive, outcome, choice)
    good = [rung for rung in found if rung.sharp_share >= EVEN_SHARE]
    return (*found[:1], *good)[-1] if found else None


def own_share(outcome: Outcome, choice: RigChoice) -> str:
    """Return `share` of the rig's own shutter time, nothing where it never holds."""
    own = choice.shutter_s
    held = (r for r in outcome.ladder if abs(r.shutter_s / own - 1) < _SAME)
    return next(map(share, held), "")


def proposal(request: Request) -> str:
    """Return what a proposed shutter time is, and when to set a shorter one."""
    wanted = PACES[nearest_pace(request.animal, request.pace)].sharp_wanted
    return (
        f"A proposed speed is the slowest that keeps {wanted * 10:.0f} frames in 10 "
        "sharp: while the ISO is low, set a faster one"
    )


def limbs(request: Request) -> str:
    """Return ``Feet smear about 4 px with A, 5 px with B``; empty of one at rest."""
    speed_m_s = limbs_m_s(request.animal, request.pace)
    if not speed_m_s:
        return ""
    flying = nearest_pace(request.animal, request.pace) == "flying"
    smears = ", ".join(
        f"{_smear_px(choice, speed_m_s, request.distance_m):.0f} px with {letter}"
        for letter, choice in zip(LETTERS, request.rigs, strict=False)
    )
    return f"{'Wing tips' if flying else 'Feet'} smear about {smears}"


def _smear_px(choice: RigChoice, speed_m_s: float, distance_m: float) -> float:
    on_sensor_mm = speed_m_s * choice.shutter_s * choice.focal_mm / distance_m
    return on_sensor_mm / choice.rig.body.pixel_pitch_mm


def throughout(drive: DrivePlan, rung: Run | Rung) -> bool:
    """Return whether a rung holds from the first minute to turn-back."""
    return bool(
        rung.first_utc == drive.opens_utc and rung.last_utc >= drive.utc[drive.until]
    )


def when(plan: TripPlan, drive: DrivePlan, rung: Run | Rung) -> str:
    """Return ``to 17:41``, ``from 06:21``, ``16:10–17:41`` or ``to turn-back``."""
    first, last = plan.clock(rung.first_utc), plan.clock(rung.last_utc)
    if throughout(drive, rung):
        return f"to {drive.the_end}" if drive.session != "morning" else f"from {first}"
    if rung.first_utc == drive.opens_utc:
        return f"to {last}"
    if rung.last_utc >= drive.utc[drive.until]:
        return f"from {first}"
    return f"{first}–{last}"


def share(rung: Rung) -> str:
    """Return ``6 in 10 sharp``, or nothing for eight and more."""
    if rung.sharp_share >= SURE_SHARE:
        return ""
    return f"{int(rung.sharp_share * 10 + 1e-9)} in 10 sharp"


def shutter(shutter_s: float) -> str:
    """Return ``1/500``; a photographer knows that it is seconds."""
    return f"1/{1.0 / shutter_s:.0f}" if shutter_s < 0.4 else f"{shutter_s:g} s"


def rung(plan: TripPlan, drive: DrivePlan, of: Rung) -> str:
    """Return ``1/250 to 17:46 (6 in 10 sharp)``."""
    sharp = share(of)
    bracket = f" ({sharp})" if sharp else ""
    return f"{shutter(of.shutter_s)} {when(plan, drive, of)}{bracket}"


def rungs(plan: TripPlan, drive: DrivePlan, of: Iterable[Rung]) -> str:
    """Return rungs in a row, ``1/500 to 17:41 · 1/250 to 17:46 (6 in 10 sharp)``."""
    return " · ".join(rung(plan, drive, each) for each in of)


def fastest(least_s: float) -> str:
    """Return ``up to 1/800 s``, what is left where a time of ``least_s`` is needed."""
    if not least_s <= SLOWEST_S * (1 + _SAME):
        return f"slower than {exposure.shutter_text(SLOWEST_S)}"
    time_s = max(exposure.slowest_nominal_s(least_s), exposure.FASTEST_S)
    return f"up to {exposure.shutter_text(time_s)}"


def stretches(plan: TripPlan, outcome: Outcome) -> str:
    """Return ``15:30 – 17:43``, several with commas between."""
    return ", ".join(
        f"{plan.clock(run.first_utc)} – {plan.clock(run.last_utc)}"
        for run in outcome.stretches
    )
