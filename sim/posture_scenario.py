"""Settings that all activities in place share: person, prosthesis and floor of the walk, and a lock for the knee."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

from sim.errors import RampwalkError
from sim.parameters import ours_activities
from sim.scenario import Components, Contact, Ground, Knee, Numerics, Person, ProstheticFoot, Scenario
from sim.settings import Settings, check, choice, number, section

_LOCK = ours_activities.lock()


@dataclass(frozen=True)
class KneeLock(Settings):
    """A lock against flexion of the prosthetic knee, off by default; all of its rules are ours.

    `flexion-lock` closes when the foot carries more than `close_load_n` and the knee turns slower than
    `close_rate_deg_s` for `close_time_s`. It opens when for `open_time_s` the knee is pressed against its straight stop
    by more than `open_hyperextension_nm`, the load is below `open_load_n`, or the centre of pressure is further ahead
    of the ankle than `open_toe_share` of the way to the toe; 0 leaves a rule out. `permanent-lock` never opens.
    """

    kind: str = choice("none", "flexion-lock", "permanent-lock")
    close_load_n: float = number(_LOCK["close_load"], 0, 1000, "a standing leg carries 100 to 600 N")
    close_rate_deg_s: float = number(_LOCK["close_rate"], 0.1, 100, "a still knee turns slower than 10 deg/s")
    close_time_s: float = number(_LOCK["close_time"], 0, 5, "longer than 5 s nobody waits")
    open_hyperextension_nm: float = number(_LOCK["open_hyperextension"], 0, 200, "0 leaves this rule out")
    open_load_n: float = number(_LOCK["open_load"], 0, 1000, "0 leaves this rule out")
    open_toe_share: float = number(_LOCK["open_toe_share"], 0, 1.2, "0 leaves this rule out; 1 is the toe")
    open_time_s: float = number(_LOCK["open_time"], 0, 2, "0 opens at once")

    def __post_init__(self) -> None:
        check(self, "lock.")


@dataclass(frozen=True, kw_only=True)
class InPlace(Settings):
    """What every activity in place knows of: sections of the walk under their names there, and the lock."""

    person: Person = section(Person)
    components: Components = section(Components)
    knee: Knee = section(Knee)
    foot: ProstheticFoot = section(ProstheticFoot)
    contact: Contact = section(Contact)
    lock: KneeLock = section(KneeLock)
    numerics: Numerics = section(Numerics)

    def need_passive_knee(self, about: str) -> None:
        """Refuse a person with two sound legs, where all is about the prosthetic knee.

        Raises
        ------
        RampwalkError
            If nobody has a prosthesis.
        """
        if not self.person.has_prosthesis:
            raise RampwalkError(
                f"person.limbs = 'both-sound' has no passive knee that {about} about; use 'one-prosthetic'.",
                "person.limbs",
            )

    def shared_sections(self) -> dict[str, Any]:
        """Sections that every activity in place has, by name, for another activity of the same person."""
        return {field.name: getattr(self, field.name) for field in fields(InPlace)}

    def walk_scenario(self, slope_deg: float = 0.0) -> Scenario:
        """Scenario of a walk with the same person, prosthesis, floor and computation."""
        return Scenario(
            slope_deg=slope_deg,
            person=self.person,
            components=self.components,
            knee=self.knee,
            foot=self.foot,
            contact=self.contact,
            ground=Ground(lead_in_m=0.0),
            numerics=self.numerics,
        )
