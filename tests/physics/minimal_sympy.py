"""The seven-body walker by Lagrange's equations, derived by sympy from nothing but where the mass centres are.

Coordinates q: hip x, y, trunk angle, then thigh, shank, foot angle of leg 0 and of leg 1, counter-clockwise from
hanging straight down (trunk: from upright). mass(q) q'' = force - bias(q, q'), where bias holds gravity and centripetal
terms. Nothing of sim is used but the numbers of a body.
"""

from functools import cache
from typing import NamedTuple

import numpy as np
import sympy as sp
from scipy.integrate import solve_ivp

SIZE, BODIES = 9, 7
GRAVITY = 9.81
#: Body index of the parts below each joint, in the order hip, knee, ankle of leg 0, then of leg 1.
JOINTS = [(3 * leg + part, part) for leg in range(2) for part in (1, 2, 3)]


class Equations(NamedTuple):
    """Functions of (q, v, numbers): mass matrix (9, 9), bias (9,), places (7, 2), and how places move (14, 9)."""

    mass: object
    bias: object
    places: object
    moves: object
    drift: object


def mass_centres(q, centre, thigh, shank):
    """Places of the seven mass centres, hip first."""

    def turned(angle, x, y):
        return sp.Matrix([sp.cos(angle) * x - sp.sin(angle) * y, sp.sin(angle) * x + sp.cos(angle) * y])

    hip = sp.Matrix(q[:2])
    out = [hip + turned(q[2], *centre[0])]
    for leg in range(2):
        joint = hip
        for part in range(3):
            body, angle = 1 + part + 3 * leg, q[3 + part + 3 * leg]
            out.append(joint + turned(angle, *centre[body]))
            joint += turned(angle, 0, -(thigh, shank, 0)[part])
    return out


@cache
def derive() -> Equations:
    """The equations, once per process (some seconds)."""
    q, v = sp.symbols(f"q:{SIZE}"), sp.symbols(f"v:{SIZE}")
    mass, inertia = sp.symbols(f"m:{BODIES}"), sp.symbols(f"i:{BODIES}")
    centre = [sp.symbols(f"x{k} y{k}") for k in range(BODIES)]
    thigh, shank, gravity = sp.symbols("thigh shank gravity")
    places = mass_centres(q, centre, thigh, shank)
    speeds = [place.jacobian(q) * sp.Matrix(v) for place in places]
    turning = [v[2 + body] for body in range(BODIES)]
    kinetic = sum(
        m * speed.dot(speed) / 2 + i * w**2 / 2 for m, i, speed, w in zip(mass, inertia, speeds, turning, strict=True)
    )
    potential = sum(m * gravity * place[1] for m, place in zip(mass, places, strict=True))
    lagrangian = kinetic - potential
    momentum = sp.Matrix([sp.diff(lagrangian, rate) for rate in v])
    matrix = momentum.jacobian(v)
    bias = momentum.jacobian(q) * sp.Matrix(v) - sp.Matrix([sp.diff(lagrangian, angle) for angle in q])
    stacked = sp.Matrix.vstack(*places)
    moves = stacked.jacobian(q)
    drift = (moves * sp.Matrix(v)).jacobian(q) * sp.Matrix(v)
    numbers = [*mass, *inertia, *(n for pair in centre for n in pair), thigh, shank, gravity]
    compiled = [
        sp.lambdify([q, v, numbers], expression, "numpy", cse=True)
        for expression in (matrix, bias, sp.Matrix([list(place) for place in places]), moves, drift)
    ]
    return Equations(*compiled)


def numbers_of(body):
    """Masses, inertias, mass centres, lengths and gravity in the order of `derive`."""
    lengths = [body.thigh_length, body.shank_length, GRAVITY]
    return np.array([*body.mass, *body.inertia, *body.centre.ravel(), *lengths])


class Plant:
    """The equations with the numbers of one body."""

    def __init__(self, body):
        self.equations, self.numbers, self.body_mass = derive(), numbers_of(body), np.array(body.mass)

    def accelerations(self, q, v, force):
        """Of the coordinates, shape (9,)."""
        bias = np.ravel(self.equations.bias(q, v, self.numbers))
        return np.linalg.solve(np.array(self.equations.mass(q, v, self.numbers)), force - bias)

    def states(self, q, v):
        """x, y, angle, vx, vy, rate of each body, shape (7, 6)."""
        places = np.array(self.equations.places(q, v, self.numbers))
        speeds = (np.array(self.equations.moves(q, v, self.numbers)) @ v).reshape(BODIES, 2)
        return np.column_stack([places, q[2:], speeds, v[2:]])

    def joint_forces(self, q, v, force):
        """What each joint carries, shape (6, 2) [N]: mass times (acceleration - gravity) of all that hangs below it."""
        change = self.accelerations(q, v, force)
        moves, drift = self.equations.moves(q, v, self.numbers), self.equations.drift(q, v, self.numbers)
        felt = (np.array(moves) @ change + np.ravel(drift)).reshape(BODIES, 2) + np.array([0.0, GRAVITY])
        pull = self.body_mass[:, None] * felt
        return np.array([pull[body : body + 4 - part].sum(axis=0) for body, part in JOINTS])

    def later(self, q, v, force, time):
        """Coordinates and rates after `time` under constant forces."""

        def rates(_time, state):
            return np.concatenate([state[SIZE:], self.accelerations(state[:SIZE], state[SIZE:], force)])

        found = solve_ivp(rates, (0.0, time), np.concatenate([q, v]), method="DOP853", rtol=1e-11, atol=1e-12)
        return found.y[:SIZE, -1], found.y[SIZE:, -1]


def joint_torques(torques):
    """Torques of hip, knee, ankle of both legs, on the lower body (the upper gets the opposite), as forces on q."""
    force = np.zeros(SIZE)
    for (body, part), torque in zip(JOINTS, torques, strict=True):
        force[2 + body] += torque
        force[2 + (0 if part == 1 else body - 1)] -= torque
    return force


#: A pose in the air, its rates, and torques that keep the light feet from spinning up (ours).
POSE = np.array([0.0, 1.2, 0.1, 0.5, -0.2, 0.1, -0.3, -0.9, -0.4])
RATES = np.array([1.0, 0.3, -0.4, 1.5, -1.0, 0.8, -2.0, 0.5, -0.6])
TORQUES = np.array([6.0, -2.0, 0.05, -9.0, 3.0, -0.04])
