"""One run on a slope: walk, brake, stand at rest, walk on; what the person wants in each part of it.

The laws are those of the walk and of standing. What changes from part to part is what the person wants: a lean of the
trunk, a speed, a length of the step, a place of the mass centre. Shares, times and places are ours, found by trying.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import numpy as np

from sim.body import PROSTHETIC, SOUND, Body
from sim.drivers.landing import minimal_of_state
from sim.drivers.relay import Relay
from sim.pack import pack_gains, pack_plant, pack_settings
from sim.posture_pack import Knot, pack_plan, pack_posture
from sim.scenario import GRAVITY, Scenario
from sim.stance_pose import Array, hip_over, mass_centre
from sim.upright import upright

#: Wanted length of the step with which the prosthetic foot closes up [leg lengths], and longest wait for a landing [s].
CLOSING_STEP, LONGEST_STEP = 0.29, 2.5
#: Share of the weight that the sound leg is to give when the feet have closed up, and at rest; time between [s].
SHARE_FIRST, SHARE_AT_REST, SETTLE = 0.8, 0.65, 1.0
#: Farthest that the prosthetic foot may stand ahead of or behind the sound one for a pose at rest [m].
FEET_AHEAD, FEET_BEHIND = 0.4, -0.3
#: Mass centre slower than this is at rest [m/s]; longest wait for it [s].
AT_REST_SPEED, LONGEST_SETTLE = 0.02, 8.0
#: Before the first step: time in which the weight goes over to the sound leg [s], then time in which the wanted place
#: of the mass centre goes ahead [s] and by how much [leg lengths]; flexion of the sound knee [rad].
OVER, TIP, AHEAD, SOUND_FLEXION = 1.0, 0.4, 0.28, math.radians(4.0)
#: From where it goes ahead [leg lengths ahead of the sound ankle]: places that a person tries, the best first.
BEGINS = (0.025, 0.035, 0.015)
#: The first foot leaves the ground when the extrapolated mass centre (x + v sqrt(l / g), Hof 2005, from memory) is so
#: far ahead of the sound ankle [leg lengths]; longest wait for that [s].
LEAVES_AT, LONGEST_TIP = 0.14, 3.0
#: A hip so far from the feet is a fall [leg lengths], as in step-to descent.
FARTHEST = 1.2
#: Ends of a run that are no fall.
NO_CLOSING, NOT_AT_REST, NO_FIRST_STEP = 101, 102, 103


class Moment(NamedTuple):
    """Where the person is, in the world [m, m/s]."""

    mass_centre: Array  # shape (2,)
    velocity: Array  # of the mass centre, shape (2,)
    ankle: Array  # shape (2 legs, 2)
    heel: Array
    hip: Array
    hip_velocity: Array


@dataclass
class Course:
    """What happened when; times from the start [s], 0 if it did not happen.

    Attributes
    ----------
    relay : Relay
    status : int
        Why it ended early, 0 if it did not.
    part : str
        In which it ended.
    told_at, braked_at, closed_at, rest_at, rose_at, off_at : float
        The person decides to stop; the sound foot lands for the last time; the prosthetic foot has closed up; the body
        is at rest; it begins to go over to the sound leg; the prosthetic foot leaves the ground.
    margin : float
        Extrapolated mass centre ahead of the sound ankle when the feet have closed up [leg lengths]; by which the lean
        of the trunk is judged.
    """

    relay: Relay
    status: int = 0
    part: str = "walk"
    told_at: float = 0.0
    braked_at: float = 0.0
    closed_at: float = 0.0
    rest_at: float = 0.0
    rose_at: float = 0.0
    off_at: float = 0.0
    margin: float = field(default=math.nan)


class Steering:
    """A person who walks down a slope, stops, stands and walks on.

    Parameters
    ----------
    scenario : Scenario
        Person, prosthesis, steps and speed; its ground is not used: the slope is even from the beginning.
    in_place : InPlace
        The same person, for standing.
    body : Body
    lean_back : float
        Lean of the trunk in the last step before the stop, backward positive [rad].
    """

    def __init__(self, scenario: Scenario, in_place: Any, body: Body, lean_back: float) -> None:
        self.scenario, self.body, self.lean_back = scenario, body, lean_back
        record = pack_posture(in_place, scenario.slope_deg)
        ground = record[0]["base"]["ground"].copy()
        record["base"] = pack_settings(scenario)
        record[0]["base"]["ground"] = ground
        record[0]["most_ahead"] = record[0]["most_behind"] = FARTHEST * body.leg_length
        self.record, self.row = record, record[0]
        self.balance_rate = float(self.row["hold"]["balance_rate"])
        self.slope = math.radians(scenario.slope_deg)
        self.along = np.array([math.cos(self.slope), math.sin(self.slope)])
        numerics = scenario.numerics
        self.course = Course(
            Relay(record, pack_gains(), pack_plant(body), numerics.time_step_s, numerics.iterations, numerics.loop)
        )

    def now(self) -> Moment:
        """Where the person is now."""
        relay, body = self.course.relay, self.body
        state = relay.state()
        share = body.mass / body.mass.sum()
        q, v = np.zeros(9), np.zeros(9)
        minimal_of_state(self.record["base"], state.ravel(), q, v)
        ankle, heel = np.zeros((2, 2)), np.zeros((2, 2))
        for leg in (PROSTHETIC, SOUND):
            thigh, shank, foot = q[3 + 3 * leg : 6 + 3 * leg]
            ankle[leg, 0] = q[0] + body.thigh_length * math.sin(thigh) + body.shank_length * math.sin(shank)
            ankle[leg, 1] = q[1] - body.thigh_length * math.cos(thigh) - body.shank_length * math.cos(shank)
            back, down = body.sole_points[leg, 0]
            heel[leg, 0] = ankle[leg, 0] + math.cos(foot) * back - math.sin(foot) * down
            heel[leg, 1] = ankle[leg, 1] + math.sin(foot) * back + math.cos(foot) * down
        return Moment(share @ state[:, :2], share @ state[:, 3:5], ankle, heel, q[:2], v[:2])

    def ahead(self) -> float:
        """Extrapolated mass centre ahead of the sound ankle [leg lengths]."""
        here, length = self.now(), self.body.leg_length
        x = here.mass_centre[0] + here.velocity[0] * math.sqrt(length / GRAVITY)
        return float(x - here.ankle[SOUND, 0]) / length

    def walk_and_brake(self, steps: int) -> bool:
        """Walk `steps` steps, the last one leaning back, and close up; whether the feet have closed up."""
        course, relay, task = self.course, self.course.relay, self.course.relay.task
        longest = 2.0 * steps * self.scenario.step_time + 3.0
        course.status = relay.walk(longest, lambda: int(relay.memory["steps"]) >= steps - 1)
        if course.status or int(relay.memory["steps"]) < steps - 1:
            return False
        course.part, course.told_at = "brake", relay.time
        task["trunk_lean"] = math.radians(self.scenario.trunk_lean_deg) - self.lean_back
        course.status = relay.walk(LONGEST_STEP, lambda: int(relay.memory["steps"]) >= steps)
        if course.status or int(relay.memory["steps"]) < steps:
            return False
        course.braked_at = relay.time
        task["trunk_lean"], task["speed"] = math.radians(self.scenario.trunk_lean_deg), 0.0
        task["step_length"][PROSTHETIC] = CLOSING_STEP * self.body.leg_length
        relay.change_step()
        course.status = relay.walk(LONGEST_STEP, lambda: int(relay.memory["steps"]) > steps)
        course.margin = self.ahead()
        if course.status == 0 and int(relay.memory["steps"]) <= steps:
            course.status = NO_CLOSING
        if course.status:
            return False
        course.closed_at = relay.time
        return True

    def stand_still(self, seconds: float) -> bool:
        """Come to rest on both feet, and stand so long; whether that was done."""
        course, relay, here = self.course, self.course.relay, self.now()
        course.part = "stand"
        relay.begin_standing()
        hip, centre = self._pose_at_rest(here)
        first = _knot(0.0, here.hip, SHARE_FIRST, float(here.mass_centre[0]))
        first = Knot(**{**vars(first), "hip_rate": (float(here.hip_velocity[0]), float(here.hip_velocity[1]))})
        settled = _knot(SETTLE, hip, SHARE_AT_REST, centre)
        self.row["hold"]["balance_rate"] = self.balance_rate
        pack_plan(self.record, [first, settled, _knot(SETTLE + 1.0, hip, SHARE_AT_REST, centre)])
        moved = relay.time

        def done() -> bool:
            nonlocal moved
            state = relay.state()
            if np.hypot(*(self.body.mass @ state[:, 3:5])) > AT_REST_SPEED * self.body.mass.sum():
                moved = relay.time
            return relay.time - moved >= seconds or (moved - course.closed_at > LONGEST_SETTLE)

        course.status = relay.stand(LONGEST_SETTLE + seconds + 1.0, done)
        if course.status == 0 and relay.time - moved < seconds:
            course.status = NOT_AT_REST
        course.rest_at = 0.0 if course.status else moved + relay.dt * relay.every
        return course.status == 0

    def walk_on(self, steps: int, begins: float) -> bool:
        """Weight onto the sound leg, tip forward from where the mass centre `begins` [leg lengths ahead of the sound
        ankle], step off with the prosthetic foot, walk; whether that was done.
        """
        course, relay, here, length = self.course, self.course.relay, self.now(), self.body.leg_length
        course.part, course.rose_at = "set off", relay.time
        moved, ankle = float(relay.memories[0]["balance"]), here.ankle[SOUND]  # where the balance has moved the plan
        start, begin = float(relay.memories[0]["clock"]), ankle[0] + begins * length
        over, tipped = start + OVER, start + OVER + TIP
        high, far = (hip_over(ankle, x, SOUND_FLEXION, self.body) for x in (begin, begin + AHEAD * length))
        knots = [
            _knot(start, here.hip, SHARE_AT_REST, float(here.mass_centre[0]) - moved),
            _knot(over, high, 1.0, begin - moved, 1.0, 0.0),
            _knot(tipped, far, 1.0, begin + AHEAD * length - moved, 1.0, 0.0),
            _knot(tipped + 1.0, far, 1.0, begin + AHEAD * length - moved, 1.0, 0.0),
        ]
        self.row["hold"]["balance_rate"] = 0.0  # the plan moves the weight
        pack_plan(self.record, knots)
        course.status = relay.stand(
            OVER + LONGEST_TIP, lambda: relay.time > course.rose_at + 0.9 * OVER and self.ahead() > LEAVES_AT
        )
        if course.status == 0 and self.ahead() <= LEAVES_AT:
            course.status = NO_FIRST_STEP
        if course.status:
            return False
        course.part, course.off_at = "walk on", relay.time
        task, scenario = relay.task, self.scenario
        task["step_length"], task["speed"] = scenario.step_lengths, scenario.speed
        relay.begin_walking(SOUND)
        longest = 2.0 * steps * scenario.step_time + 3.0
        course.status = relay.walk(longest, lambda: int(relay.memory["steps"]) >= steps)
        return course.status == 0 and int(relay.memory["steps"]) >= steps

    def _pose_at_rest(self, here: Moment) -> tuple[Array, float]:
        """Hip and x of the mass centre of the pose in balance with the feet where they are."""
        apart = float((here.ankle[PROSTHETIC] - here.ankle[SOUND]) @ self.along)
        stiffness = self.row["base"]["contact"]["stiffness"]
        found = upright(
            self.body,
            self.slope,
            min(max(apart, FEET_BEHIND), FEET_AHEAD),
            1.0 - SHARE_AT_REST,
            0.0,
            (float(stiffness[0]), float(stiffness[1])),
            self.scenario.foot.ankle_stiffness,
        )
        if found is None:  # no leg reaches: stay as it is
            return here.hip, float(here.mass_centre[0])
        shift = float(here.ankle[SOUND, 0] - found.feet.ankle[SOUND, 0])
        hip = found.hip + np.array([shift, math.tan(self.slope) * shift])
        return hip, float(mass_centre(found.q, self.body)[0]) + shift


def _knot(time: float, hip: Array, share: float, centre: float, hold: float = 0.0, press: float = 1.0) -> Knot:
    return Knot(time, (float(hip[0]), float(hip[1])), 0.0, share, hold, press, (0.0, 0.0), centre)
