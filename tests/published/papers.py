"""Equations of the passive walkers as papers derive them, integrated by scipy: no engine, no pivots.

Point masses at fixed distances along unit vectors of the angles, so that with L[p, k] the share of vector k in the
place of mass p: sum_j (sum_p m L_i L_j) (cos(q_i - q_j) q_j'' + sin(q_i - q_j) q_j'^2) = g sum_p m L_i sin(q_i). Angles
from the vertical, of the line from foot to hip, positive when the hip is behind the foot.

Collisions: the velocities just after have the same momentum but for one impulse, and satisfy the new constraint.
"""

from __future__ import annotations

import math

import numpy as np
from scipy.integrate import solve_ivp

TOLERANCE = 1e-10


def motion(mass, arms, gravity):
    """Right-hand side of the equations of motion for `solve_ivp`; `arms` is L[p, k] above."""
    mass, arms = np.asarray(mass, float), np.asarray(arms, float)
    coupling = np.einsum("p,pi,pj->ij", mass, arms, arms)
    weight = gravity * (mass @ arms)

    def rates(_time, state):
        angles, speeds = np.split(state, 2)
        apart = angles[:, None] - angles[None, :]
        force = weight * np.sin(angles) - (coupling * np.sin(apart)) @ speeds**2
        return np.concatenate([speeds, np.linalg.solve(coupling * np.cos(apart), force)])

    return rates


def until(rates, state, event, accept, longest):
    """Time and state of the first event that `accept` takes."""
    found = solve_ivp(rates, (0.0, longest), state, rtol=TOLERANCE, atol=TOLERANCE, events=event)
    for time, there in zip(found.t_events[0], found.y_events[0], strict=True):
        if time > 1e-6 * longest and accept(there):
            return time, there
    raise AssertionError("the papers' equations find no landing")


def landing(rates, state, slope, longest):
    """Straight legs: the swinging foot, ahead, comes down to the ground."""
    return until(
        rates,
        state,
        lambda _t, y: y[0] + y[1] + 2.0 * slope,
        lambda y: y[1] > y[0] and y[2] + y[3] < 0.0,
        longest,
    )


def heel_strike(angles, speeds, hip_mass, leg, length):
    """New rates of (new stance, new swing) leg and energy lost; `leg` lists (mass, distance below the hip).

    Coordinates hip x, y and both angles; the impulse acts on the foot of the second leg, which stops.
    """
    forward = np.array([np.cos(angles), np.sin(angles)])  # of a point below the hip, per distance and rate
    matrix = np.diag([hip_mass, hip_mass, 0.0, 0.0])
    for k in (0, 1):
        for mass, below in leg:
            place = np.zeros((2, 4))
            place[:, :2] = np.eye(2)
            place[:, 2 + k] = below * forward[:, k]
            matrix += mass * place.T @ place
    before = np.array([*(-length * forward[:, 0] * speeds[0]), *speeds])
    foot = np.zeros((2, 4))
    foot[:, :2] = np.eye(2)
    foot[:, 3] = length * forward[:, 1]
    system = np.block([[matrix, -foot.T], [foot, np.zeros((2, 2))]])
    after = np.linalg.solve(system, np.concatenate([matrix @ before, np.zeros(2)]))[:4]
    return after[[3, 2]], 0.5 * (before @ matrix @ before - after @ matrix @ after)


def compass_step(state, leg_mass, hip_mass, a, b, slope, gravity):
    """State (stance, swing, rates), duration, step length, energy lost after one step."""
    length = a + b
    rates = motion([leg_mass, hip_mass, leg_mass], [[a, 0], [length, 0], [length, -b]], gravity)
    time, there = landing(rates, np.asarray(state, float), slope, 12.0 * math.sqrt(length / gravity))
    speeds, lost = heel_strike(there[:2], there[2:], hip_mass, [(leg_mass, b)], length)
    step = length * (math.sin(there[1] + slope) - math.sin(there[0] + slope))
    return np.array([there[1], there[0], *speeds]), time, step, lost


def kneed_step(state, thigh_mass, shank_mass, hip_mass, a1, b1, a2, b2, slope, gravity):
    """State (stance, thigh, shank, rates), duration, step length, energy lost after one step with a free knee."""
    upper, lower = a2 + b2, a1 + b1
    length = upper + lower
    longest = 12.0 * math.sqrt(length / gravity)
    mass = np.array([shank_mass, thigh_mass, hip_mass, thigh_mass, shank_mass])
    arms = np.array([[a1, 0, 0], [lower + a2, 0, 0], [length, 0, 0], [length, -b2, 0], [length, -upper, -b1]])
    bent, knee = until(
        motion(mass, arms, gravity),
        np.asarray(state, float),
        lambda _t, y: y[2] - y[1],
        lambda y: y[5] > y[4],
        longest,
    )
    angles, speeds = knee[:3], knee[3:]
    matrix = np.einsum("p,pi,pj->ij", mass, arms, arms) * np.cos(angles[:, None] - angles[None, :])
    lock = np.array([0.0, -1.0, 1.0])
    push = np.linalg.solve(matrix, lock)
    locked = speeds - push * (lock @ speeds) / (lock @ push)
    lost = 0.5 * (speeds @ matrix @ speeds - locked @ matrix @ locked)
    straight = motion(mass, np.column_stack([arms[:, 0], arms[:, 1] + arms[:, 2]]), gravity)
    time, there = landing(straight, np.array([*angles[:2], *locked[:2]]), slope, longest)
    leg = [(thigh_mass, b2), (shank_mass, upper + b1)]
    speeds, more = heel_strike(there[:2], there[2:], hip_mass, leg, length)
    step = length * (math.sin(there[1] + slope) - math.sin(there[0] + slope))
    end = np.array([there[1], there[0], there[0], speeds[0], speeds[1], speeds[1]])
    return end, bent + time, step, lost + more


def simplest_step(state, slope):
    """State (stance angle from the slope's normal, rate), duration, step length, energy lost.

    Garcia and others 1998: q'' = sin(q - slope); p'' = q'' + q'^2 sin p - cos(q - slope) sin p, with p the angle
    between the legs; landing where p = 2 q; then q' falls by cos 2q, all energy lost is the hip's.
    """
    stance, rate = state

    def rates(_time, y):
        push = math.sin(y[0] - slope)
        return [y[2], y[3], push, push + (y[2] ** 2 - math.cos(y[0] - slope)) * math.sin(y[1])]

    start = [stance, 2.0 * stance, rate, (1.0 - math.cos(2.0 * stance)) * rate]
    time, there = until(
        rates,
        start,
        lambda _t, y: y[1] - 2.0 * y[0],
        lambda y: y[0] < 0.0 and y[3] > 2.0 * y[2],
        12.0,
    )
    factor = math.cos(2.0 * there[0])
    lost = 0.5 * there[2] ** 2 * (1.0 - factor**2)
    return np.array([-there[0], factor * there[2]]), time, -2.0 * math.sin(there[0]), lost
