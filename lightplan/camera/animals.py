"""Animals as a camera meets them: how large they are, and how fast they go.

Names are generic and values the middle of what handbooks give for adults of both
sexes: an animal in front of the lens may be a tenth larger or smaller. Sizes and
greatest speeds are ranges of mammal and bird handbooks, from memory; heads and
hips are judgement, within a quarter. Speeds follow from them as `Animal` says.
"""

from math import pow, sqrt
from typing import NamedTuple

GRAVITY_M_S2 = 9.81
# Equal gaits at equal Froude number v²/(g·hip height): Alexander & Jayes, J. Zool.
# 201 (1983) 135. The middle of walking and of trotting, from memory.
WALK_FROUDE, TROT_FROUDE = 0.15, 1.0
# Zebra and impala flee at about half the speed they can reach: Wilson et al.,
# Nature 554 (2018) 183, as reported.
FLIGHT_SHARE = 0.5
# The hip of a four-legged animal stands a little below its shoulder. Judgement.
HIP_SHARE = 0.9
AIR_KG_M3 = 1.1  # warm air some 500 m above the sea


class Wings(NamedTuple):
    """What a bird flies with: mass, span, area, and its cruising airspeed.

    Typical values, from memory; airspeeds of birds of that size as in Alerstam et
    al., PLoS Biol. 5 (2007) e197, from memory too. [kg, m, m², m/s]
    """

    mass_kg: float
    span_m: float
    area_m2: float
    cruise_m_s: float

    @property
    def beat_hz(self) -> float:
        """Wingbeats a second: Pennycuick, J. Exp. Biol. 199 (1996) 1613."""
        return (
            pow(self.mass_kg / AIR_KG_M3, 3 / 8)
            * sqrt(GRAVITY_M_S2)
            * pow(self.span_m, -23 / 24)
            * pow(self.area_m2, -1 / 3)
        )


class Animal(NamedTuple):
    """An animal to photograph.

    ``height_m`` is a mammal's shoulder, a bird as it stands or perches;
    ``length_m`` is head and body without the tail, of a bird from bill to tail;
    ``head_m`` is the head, bill or muzzle included. ``tall_m`` is there where a
    neck stands far above the shoulder. ``hip_m`` is None where it does not walk
    far, ``top_m_s`` is the greatest speed recorded, ``run_m_s`` a measured run.
    """

    key: str
    label: str
    kind: str
    height_m: float
    length_m: float
    head_m: float
    hip_m: float | None = None
    top_m_s: float | None = None
    run_m_s: float | None = None
    trots: bool = False
    wings: Wings | None = None
    tall_m: float | None = None

    @property
    def speeds_m_s(self) -> dict[str, float]:
        """The speed of its body by pace, for each pace it has but resting. [m/s].

        Walking and trotting by the height of its hip, running as measured or at
        half of the greatest speed recorded, flying at its cruising airspeed.
        """
        speeds = {}
        if self.hip_m is not None:
            speeds["walking"] = sqrt(WALK_FROUDE * GRAVITY_M_S2 * self.hip_m)
            if self.trots:
                speeds["trotting"] = sqrt(TROT_FROUDE * GRAVITY_M_S2 * self.hip_m)
        if self.run_m_s is not None:
            speeds["running"] = self.run_m_s
        elif self.top_m_s is not None:
            speeds["running"] = FLIGHT_SHARE * self.top_m_s
        if self.wings is not None:
            speeds["flying"] = self.wings.cruise_m_s
        return speeds

    def size_m(self, flying: bool = False) -> tuple[float, float]:
        """Return how wide and how tall it is from the side; in flight wings count. [m].

        A flying bird is taken with its wings spread, as wide as its span and as
        tall as it is long: what the frame must have room for.
        """
        if flying and self.wings is not None:
            return self.wings.span_m, self.length_m
        return self.length_m, self.tall_m or self.height_m


def _mammal(
    label: str,
    height_m: float,
    length_m: float,
    head_m: float,
    top_m_s: float,
    *,
    hip_m: float | None = None,
    run_m_s: float | None = None,
    trots: bool = True,
    tall_m: float | None = None,
) -> Animal:
    hip = HIP_SHARE * height_m if hip_m is None else hip_m
    return Animal(
        label.replace(" ", "-"), label, "mammal", height_m, length_m, head_m,
        hip, top_m_s, run_m_s, trots, None, tall_m,
    )  # fmt: skip


def _bird(
    label: str,
    height_m: float,
    length_m: float,
    head_m: float,
    wings: Wings,
    hip_m: float | None = None,
) -> Animal:
    return Animal(
        label.replace(" ", "-"), label, "bird", height_m, length_m, head_m,
        hip_m, wings=wings,
    )  # fmt: skip


# Greatest speeds as compiled in Garland 1983 (J. Zool. 199:157) and Garland & Janis
# 1993, from memory; those of tiger and baboon are from handbooks, from memory.
ANIMALS = {
    animal.key: animal
    for animal in (
        # Neither elephants nor giraffes trot. The fastest of 2400 strides of
        # elephants: Hutchinson et al., J. Exp. Biol. 209 (2006) 3812.
        _mammal("elephant", 3.25, 4.0, 1.1, 9.7, hip_m=2.5, run_m_s=6.8, trots=False),
        _mammal("giraffe", 3.0, 4.2, 0.7, 16.7, hip_m=2.3, trots=False, tall_m=4.8),
        # Between the white rhino's 6.9 m/s and the black one's 12.5 m/s.
        _mammal("rhino", 1.65, 3.75, 0.8, 9.7),
        _mammal("buffalo", 1.4, 2.6, 0.55, 15.8),
        _mammal("zebra", 1.33, 2.3, 0.55, 19.4),
        _mammal("wildebeest", 1.3, 2.05, 0.5, 22.2),
        _mammal("impala", 0.81, 1.4, 0.28, 13.1),
        _mammal("warthog", 0.7, 1.25, 0.4, 15.3),
        _mammal("baboon", 0.62, 0.85, 0.22, 12.5),
        _mammal("lion", 1.0, 1.9, 0.38, 16.4),
        _mammal("leopard", 0.62, 1.4, 0.27, 16.7),
        # Mean top speed of hunts: Wilson et al., Nature 498 (2013) 185.
        _mammal("cheetah", 0.8, 1.3, 0.22, 30.6, run_m_s=14.9),
        _mammal("hyena", 0.79, 1.4, 0.3, 18.1),
        _mammal("wild dog", 0.69, 0.94, 0.24, 19.4),
        _mammal("tiger", 0.95, 1.9, 0.38, 15.6),
        _mammal("red deer", 1.2, 2.1, 0.4, 20.0),
        _mammal("roe deer", 0.68, 1.15, 0.22, 16.7),
        _mammal("moose", 1.8, 2.75, 0.65, 15.6),
        _mammal("brown bear", 1.1, 2.0, 0.4, 13.3),
        _mammal("wolf", 0.75, 1.25, 0.29, 17.8),
        _mammal("red fox", 0.42, 0.7, 0.16, 20.0),
        _bird("stork", 1.45, 1.42, 0.4, Wings(6.2, 2.5, 0.75, 15.0), 0.75),
        _bird("heron", 0.95, 0.93, 0.22, Wings(1.5, 1.75, 0.36, 12.5), 0.45),
        _bird("fish eagle", 0.55, 0.69, 0.12, Wings(2.7, 2.0, 0.5, 12.5)),
        _bird("vulture", 0.75, 0.88, 0.17, Wings(6.0, 2.15, 0.7, 14.0)),
        _bird("goose", 0.75, 0.83, 0.13, Wings(3.3, 1.6, 0.28, 17.1), 0.28),
        _bird("duck", 0.35, 0.57, 0.11, Wings(1.1, 0.9, 0.093, 18.5), 0.14),
        _bird("owl", 0.33, 0.35, 0.08, Wings(0.3, 0.9, 0.12, 7.5)),
        _bird("roller", 0.22, 0.32, 0.07, Wings(0.1, 0.5, 0.042, 12.0)),
        _bird("bee-eater", 0.17, 0.27, 0.07, Wings(0.055, 0.45, 0.03, 11.5)),
        _bird("kingfisher", 0.19, 0.255, 0.1, Wings(0.09, 0.46, 0.04, 11.0)),
        _bird("small kingfisher", 0.11, 0.13, 0.06, Wings(0.016, 0.2, 0.008, 11.0)),
    )
}
