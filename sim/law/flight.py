"""Down a flight of stairs step over step: the law of the person between the first lift and the last landing.

The prosthetic leg has its hip alone, and its knee yields under the body. The sound foot lands forefoot first: the ankle
gives, then the knee lowers the body while the prosthetic foot is swung past to the next tread.
"""

from __future__ import annotations

import math
from typing import Any

from sim.law.balance import mass_centre_of
from sim.law.compiled import law
from sim.law.geometry import Pose, clip, smooth_step
from sim.law.plan import Wanted, between
from sim.law.posture_legs import FOOT_USE, hip_of_prosthesis, trunk_torque
from sim.law.posture_swing import NOBODY, aim_thigh, follow_place, glance_ahead
from sim.law.records import PROSTHETIC, SOUND
from sim.law.stance import straight_guard

#: A foot has landed when it carries this share of the weight, this far down its way (ours: further than a touch of the
#: edge between).
LANDS, DOWN = 0.05, 0.8
#: The heel is down when the sole is so near to flat [rad] (ours).
HEEL_DOWN = 0.03
#: A sound foot that should lift waits at most so many times longer for the body to come forward (ours).
PATIENCE = 2.0
#: A landed sound leg keeps pushing so much [body weights] (ours), or it would leave the ground again.
LEAST_UP = 0.4
#: The last sound foot, onto level floor, is put so that the extrapolated mass centre is so far ahead of its ankle, with
#: a step at most so much shorter or longer, in leg lengths (ours; 2, 5 and 15 cm).
UNDER, NEARER, FARTHER = 0.02, 0.06, 0.18
#: Share of forefoot and heel that the pressure may reach to stop the body after the last landing (ours).
LAST_USE = 0.95
#: Share of the time of lowering from which the heel of the sound foot may rise (ours).
HEEL_RISES = 0.6


@law
def keep_steps(t: float, pose: Pose, s: Any, memory: Any, o: Any) -> int:
    """Which foot swings now, or `NOBODY`; notes lifts and landings."""
    f, m = s.flight, memory.flight
    k = m.made
    if k >= f.on:
        return NOBODY
    leg = int(f.leg[k])
    limb = pose.legs[leg]
    if m.lifted == 0.0:
        due = f.start if k == 0 else m.at[k - 1] + f.wait[k]
        ready = True
        if leg == SOUND and k > 0:
            x, vx = mass_centre_of(pose, s)
            ready = x + vx * s.base.person.time_unit > pose.legs[PROSTHETIC].ankle_x + f.ahead
        if t < due or not (ready or t > due + PATIENCE * f.wait[k]):
            return NOBODY
        m.lifted, m.lifted_at[k] = t, t
        m.swing_from[0], m.swing_from[1] = limb.ankle_x, limb.ankle_y
        m.thigh_from, m.foot_from = limb.thigh, limb.foot
        m.knee_from = pose.legs[PROSTHETIC].thigh - pose.legs[PROSTHETIC].shank
    high = s.base.person.sole[SOUND, 1, 0] * math.sin(-f.foot_angle) if leg == SOUND else 0.0  # on the ball of the foot
    below = limb.ankle_y < m.swing_from[1] + DOWN * (f.ankle_to[k, 1] + high - m.swing_from[1])
    far = limb.ankle_x > m.swing_from[0] + DOWN * (f.ankle_to[k, 0] - m.swing_from[0])
    if not (below and far and o.load[leg] > LANDS * s.base.person.weight):
        return leg
    m.lifted, m.at[k], m.made = 0.0, t, k + 1
    m.hip_from[0], m.hip_from[1] = pose.hip_y, pose.hip_vy
    m.centre_from[0], m.centre_from[1] = mass_centre_of(pose, s)
    if leg == SOUND:
        m.ankle_from, m.heel_down = limb.foot - limb.shank, 0
    if k + 1 == f.on:
        memory.landed = t
    return NOBODY


@law
def farther(pose: Pose, s: Any, m: Any) -> float:
    """How much farther the last sound foot steps, where the floor is level, to come under the body [m]."""
    f, k, person = s.flight, m.made, s.base.person
    if k + 1 < f.on:
        return 0.0
    x, vx = mass_centre_of(pose, s)
    return clip(
        x + vx * person.time_unit - f.ankle_to[k, 0] - UNDER * person.leg_length,
        -NEARER * person.leg_length,
        FARTHER * person.leg_length,
    )


@law
def place_at(t: float, more: float, s: Any, m: Any) -> tuple[float, float, float]:
    """Wanted ankle of the swinging foot and the share of the swing that is done; late, the foot reaches down."""
    f, k = s.flight, m.made
    p = (t - m.lifted) / f.duration[k]
    u = clip(p, 0.0, 1.0)
    ahead = smooth_step(1.6 * u)  # forward first, past the edge, then down
    x = m.swing_from[0] + (f.ankle_to[k, 0] + more - m.swing_from[0]) * ahead
    y = m.swing_from[1] + (f.ankle_to[k, 1] - m.swing_from[1]) * smooth_step(1.6 * u - 0.6)
    hump = math.sin(math.pi * clip(1.4 * u, 0.0, 1.0))
    return x, y + f.clearance * hump * hump - f.reach_rate * max(0.0, p - 1.0) * f.duration[k], u


@law
def swing_sound_down(t: float, pose: Pose, s: Any, memory: Any, o: Any) -> float:
    """Hip torque of the swinging sound leg; sets its knee and its ankle, which points the toe down."""
    m = memory.flight
    more = farther(pose, s, m)
    x, y, u = place_at(t, more, s, m)
    soon_x, soon_y, _ = place_at(t + glance_ahead(s), more, s, m)
    angle = m.foot_from + u * (s.flight.foot_angle - m.foot_from)
    return follow_place(x, y, soon_x, soon_y, angle, pose, s, o)


@law
def thigh_at(t: float, ahead: float, pose: Pose, s: Any, m: Any) -> float:
    """Wanted angle of the swinging prosthetic thigh, `ahead` seconds from now: lifted, then pointing at the tread."""
    f, k, limb = s.flight, m.made, pose.legs[PROSTHETIC]
    p = (t + ahead - m.lifted) / f.duration[k]
    high = m.thigh_from + (f.thigh_high - m.thigh_from) * smooth_step(p / f.high_until)
    flexion = limb.thigh - limb.shank + ahead * (limb.thigh_rate - limb.shank_rate)
    late = f.reach_rate * max(0.0, p - 1.0) * f.duration[k]
    x = f.ankle_to[k, 0] - pose.hip_x - ahead * pose.hip_vx
    y = f.ankle_to[k, 1] - late - pose.hip_y - ahead * pose.hip_vy
    aimed = aim_thigh(x, y, flexion, s.base.person)
    z = smooth_step((p - f.high_until) / (f.aim_from - f.high_until))
    return high + z * (aimed - high)


@law
def swing_prosthesis_past(t: float, pose: Pose, s: Any, memory: Any) -> float:
    """Hip torque that swings the prosthetic leg past the sound one; its knee is left to itself."""
    f, limb = s.flight, pose.legs[PROSTHETIC]
    glance = 0.0135 * s.base.person.time_unit
    thigh = thigh_at(t, 0.0, pose, s, memory.flight)
    most = 3.6 / s.base.person.time_unit
    rate = clip((thigh_at(t, glance, pose, s, memory.flight) - thigh) / glance, -most, most)
    return f.thigh_stiffness * (thigh - limb.thigh) + f.thigh_damping * (rate - limb.thigh_rate)


@law
def carry(since: float, rises: bool, pose: Pose, along: float, up: float, s: Any, memory: Any, o: Any) -> None:
    """Knee and ankle of the standing sound leg that puts a force on the ground, x and y [N].

    After a landing on the forefoot the ankle gives like a spring and a damper; then it balances as far as the pressure
    stays under the foot.
    """
    f, hold, limb, person = s.flight, s.hold, pose.legs[SOUND], s.base.person
    hip = o.hip[SOUND]
    load = max(0.0, min(memory.felt[SOUND, 1], o.load[SOUND]))  # less at once, more a moment late: the heel stays down
    far, high = pose.hip_x - limb.ankle_x, max(pose.hip_y - limb.ankle_y, 0.2 * person.leg_length)
    tilt = person.sole_height * memory.felt[SOUND, 0]
    use = LAST_USE if memory.flight.made >= f.on else FOOT_USE
    forward = clip(use * person.sole[SOUND, 1, 0] * load + tilt, 0.0, person.ankle_strength)
    backward = max(0.0, -use * person.sole[SOUND, 0, 0] * load - tilt)
    ankle = clip(hip - up * far + along * high, -forward, backward)
    dorsiflexion, rate = limb.foot - limb.shank, limb.foot_rate - limb.shank_rate
    flat = hold.foot_flat * -limb.foot * min(1.0, load / person.weight)
    if limb.foot > -HEEL_DOWN or since > f.roll_time:
        memory.flight.heel_down = 1
    if memory.flight.heel_down == 0:
        given = f.roll_stiffness * (dorsiflexion - memory.flight.ankle_from) + f.roll_damping * rate
        fades = 1.0 - smooth_step(since / f.roll_time)
        rolling = -fades * clip(given, 0.0, f.roll_most * up * person.sole[SOUND, 1, 0])
        ankle = rolling + (1.0 - fades) * ankle
        flat *= 1.0 - fades
    elif rises and limb.foot < 0.0:
        flat = 0.0
    along = (up * far - hip + ankle) / high
    pull = up - hold.leg_weight[SOUND]
    knee = -person.thigh_length * (limb.thigh_cos * along + limb.thigh_sin * pull) - hip
    knee = clip(knee, -person.knee_extension_strength, person.knee_flexion_strength)
    flexion, rate = limb.thigh - limb.shank, limb.thigh_rate - limb.shank_rate
    o.knee[SOUND] = knee + straight_guard(flexion, rate, hold)
    o.ankle[SOUND] = ankle + flat
    o.ankle_damping[SOUND] = -hold.ankle_damping * (limb.foot_rate - limb.shank_rate)


@law
def lowering(since: float, k: int, pose: Pose, s: Any, memory: Any) -> tuple[float, float]:
    """Force that the whole person needs after the sound landing k, x and y [N]: the body slows, and goes on."""
    f, m, hold = s.flight, memory.flight, s.hold
    span = f.time[k]
    u, late = min(1.0, since / span), max(0.0, since - span)
    y, vy = between(m.hip_from[0], f.hip[k], m.hip_from[1], f.hip_rate[k], span, u)
    x, vx = between(m.centre_from[0], f.centre[k], m.centre_from[1], f.centre_rate[k], span, u)
    y, x = y + late * f.hip_rate[k], x + late * f.centre_rate[k]
    if m.made >= f.on:  # at the last one whatever speed is left is braked at once, as hard as the foot allows
        x, vx = f.centre[k] - f.ankle_to[k, 0] + pose.legs[SOUND].ankle_x, 0.0
    at, speed = mass_centre_of(pose, s)
    along = hold.along_stiffness * (x - at) + hold.along_damping * (vx - speed)
    lift = f.height_stiffness * (y - pose.hip_y) + f.height_damping * (vy - pose.hip_vy)
    return along, s.base.person.weight + lift


@law
def act_flight(t: float, pose: Pose, s: Any, memory: Any, out: Any) -> None:
    """Hips, and knee and ankle of the sound leg, on the flight."""
    f, m, o, person = s.flight, memory.flight, out.base, s.base.person
    swings = keep_steps(t, pose, s, memory, o)
    k = m.made
    on_prosthesis = swings == SOUND or (swings == NOBODY and k > 0 and f.leg[k - 1] == PROSTHETIC)
    press, share = (f.press, f.share) if on_prosthesis else (-0.5, 1.0)
    lean = f.lean[0] if on_prosthesis else f.lean[1]
    wanted = Wanted(0.0, 0.0, 0.0, 0.0, lean, 0.0, share, 1.0, press, 0.0, 0.0)
    trunk, most = trunk_torque(pose, wanted, s), person.hip_strength[PROSTHETIC]
    if swings == SOUND:
        strength = person.hip_strength[SOUND]
        o.hip[SOUND] = clip(swing_sound_down(t, pose, s, memory, o), -strength, strength)
        limb = pose.legs[PROSTHETIC]
        u = (t - m.lifted) / f.duration[k]
        wish = m.knee_from + (f.bent - m.knee_from) * smooth_step(u)
        bends = f.bend * (wish - (limb.thigh - limb.shank))
        o.hip[PROSTHETIC] = clip(trunk - o.hip[SOUND] + bends, -most, most)
        return
    since = t - m.at[k - 1] if k > 0 else t - f.start
    if on_prosthesis:
        _, speed = mass_centre_of(pose, s)
        along = s.hold.along_damping * (f.speed - speed)
        up = share * person.weight
        if k < f.on:
            up *= 1.0 - smooth_step(since / f.giving)
    else:
        along, up = lowering(since, max(k - 1, 0), pose, s, memory)
        up = clip(up, 0.0, f.most_up * person.weight)
    if swings == PROSTHETIC:
        o.hip[PROSTHETIC] = clip(swing_prosthesis_past(t, pose, s, memory), -most, most)
    else:
        o.hip[PROSTHETIC] = hip_of_prosthesis(pose, PROSTHETIC, along, wanted, s, memory)
        if not on_prosthesis:
            up -= memory.felt[PROSTHETIC, 1]
            along -= memory.felt[PROSTHETIC, 0]
    if not on_prosthesis:
        up = max(up, LEAST_UP * person.weight) * smooth_step(since / f.onset)
    strength = person.hip_strength[SOUND]
    o.hip[SOUND] = clip(trunk - o.hip[PROSTHETIC], -strength, strength)
    rises = k < f.on and (on_prosthesis or since > HEEL_RISES * f.time[max(k - 1, 0)])
    carry(since, rises, pose, along, max(up, 0.0), s, memory, o)
