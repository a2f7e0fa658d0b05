"""pymunk, and nothing else in the project touches it: bodies joined by pivots, and arrays shared with the engine.

Measured facts that this file rests on: `docs/engine.md`.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
import pymunk
from pymunk import batch
from pymunk._chipmunk_cffi import ffi, lib

READ = (
    batch.BodyFields.POSITION
    | batch.BodyFields.ANGLE
    | batch.BodyFields.VELOCITY
    | batch.BodyFields.ANGULAR_VELOCITY
)
WRITE = batch.BodyFields.FORCE | batch.BodyFields.TORQUE
VERSION = pymunk.version


class Pivot(NamedTuple):
    """A pin between two bodies (index -1: the ground), anchors in each body's own frame from its mass centre [m]."""

    first: int
    second: int
    anchor_first: tuple[float, float]
    anchor_second: tuple[float, float]


class Engine:
    """One fresh space with bodies and pivots, no shapes.

    Parameters
    ----------
    mass, inertia : shape (n,), [kg], [kg m2] about the mass centre
    state : shape (n, 6), x, y, angle, vx, vy, rate of each mass centre
    pivots : joints between bodies
    gravity : (x, y) [m/s2]
    iterations : passes of the joint solver per step
    """

    def __init__(
        self,
        mass: Any,
        inertia: Any,
        state: Any,
        pivots: list[Pivot],
        gravity: tuple[float, float] = (0.0, -9.81),
        iterations: int = 10,
    ) -> None:
        self.space = pymunk.Space()
        self.space.gravity, self.space.iterations = gravity, iterations
        self.bodies: list[pymunk.Body] = []
        for (x, y, angle, vx, vy, rate), m, i in zip(np.asarray(state, float), mass, inertia, strict=True):
            body = pymunk.Body(float(m), float(i))
            body.position, body.angle = (float(x), float(y)), float(angle)
            body.velocity, body.angular_velocity = (float(vx), float(vy)), float(rate)
            self.space.add(body)
            self.bodies.append(body)
        self.joints: list[pymunk.PivotJoint] = []
        for pivot in pivots:
            self.add_pivot(pivot)
        n = len(self.bodies)
        self.count = n
        # spare room: the C side reallocates a buffer that is just full, and numpy's memory must not be reallocated
        self.state = np.zeros(6 * n + 8)
        self.force = np.zeros(3 * n)
        self._get, self._put = batch.Buffer(), batch.Buffer()
        self._get.set_float_buf(self.state)
        self._put.set_float_buf(self.force)

    def add_pivot(self, pivot: Pivot) -> int:
        """Close a pivot now, between bodies where they are; returns its index."""
        ends = [self.space.static_body if k < 0 else self.bodies[k] for k in (pivot.first, pivot.second)]
        anchors = [(float(x), float(y)) for x, y in (pivot.anchor_first, pivot.anchor_second)]
        joint = pymunk.PivotJoint(ends[0], ends[1], anchors[0], anchors[1])
        # all of a gap is closed in the next step: what is left never adds up
        joint.error_bias, joint.max_bias, joint.collide_bodies = 0.0, float("inf"), False
        self.space.add(joint)
        self.joints.append(joint)
        return len(self.joints) - 1

    def remove_pivot(self, index: int) -> None:
        """Open a pivot; indices of the others stay."""
        self.space.remove(self.joints[index])

    def move_pivot(self, index: int, anchor_first: tuple[float, float], anchor_second: tuple[float, float]) -> None:
        """Give a pivot other anchors, each in its body's own frame [m]: the contact of a rolling foot moves."""
        joint = self.joints[index]
        joint.anchor_a, joint.anchor_b = anchor_first, anchor_second

    def strike(self) -> None:
        """Plastic collision: all joints, those just closed among them, make velocities agree at once; nothing moves.

        One step, so short that neither gravity nor motion counts, and without closing gaps: a gap divided by this time
        would be a blow. Read velocities and impulses, then start a fresh engine: a next step would take these
        impulses for its first guess.
        """
        for joint in self.joints:
            joint.max_bias = 0.0
        self.space.gravity = (0.0, 0.0)
        self.space.step(1e-12)

    def impulse(self, index: int) -> float:
        """Magnitude of the last step's impulse in a pivot [N s]."""
        return float(self.joints[index].impulse)

    def read(self) -> np.ndarray[Any, Any]:
        """States of all bodies now, shape (n, 6), as `state` of the constructor; the next read overwrites the view."""
        self._get.clear()
        batch.get_space_bodies(self.space, READ, self._get)
        return self.state[: 6 * self.count].reshape(-1, 6)

    def angles(self) -> list[float]:
        """Angles of all bodies now [rad]; for a few bodies quicker than `read`."""
        return [body.angle for body in self.bodies]

    def rates(self) -> list[float]:
        """Rates of all bodies now [rad/s]."""
        return [body.angular_velocity for body in self.bodies]

    def write(self, state: Any) -> None:
        """Set states of all bodies, shape (n, 6)."""
        for body, (x, y, angle, vx, vy, rate) in zip(self.bodies, np.asarray(state, float), strict=True):
            body.position, body.angle = (float(x), float(y)), float(angle)
            body.velocity, body.angular_velocity = (float(vx), float(vy)), float(rate)

    def push(self) -> None:
        """Hand `self.force` (fx, fy, torque per body) to the engine for the next step."""
        batch.set_space_bodies(self.space, WRITE, self._put)

    def step(self, dt: float) -> None:
        """Positions move with the old velocities, then forces act on velocities, then joints are made to hold."""
        self.space.step(dt)

    def steps(self, count: int, dt: float) -> None:
        """Many steps without forces of ours, straight from the library: the same bits as `step`, twice as fast."""
        for _ in range(count):
            lib.cpSpaceStep(self.space._space, dt)

    def addresses(self) -> tuple[np.ndarray[Any, Any], tuple[Any, Any], Any]:
        """What a compiled loop needs to call the library directly.

        Returns
        -------
        addresses : shape (7,), of the step function, the body iterator, its reader and writer, the space, and the two
            blocks that describe the shared arrays
        counts : views of the two buffers' fill counters, to be set to 0 before each use
        keep : must stay alive as long as the addresses are used
        """
        blocks = [self._block(READ, self._get), self._block(WRITE, self._put)]
        counts = tuple(
            np.frombuffer(ffi.buffer(buffer._float_arr, 4), np.int32) for buffer in (self._get, self._put)
        )
        names = (
            "cpSpaceStep",
            "cpSpaceEachBody",
            "pmSpaceBodyGetIteratorFuncBatched",
            "pmSpaceBodySetIteratorFuncBatched",
        )
        numbers = [_number(ffi.addressof(lib, name)) for name in names]
        numbers += [_number(self.space._space), _number(blocks[0]), _number(blocks[1])]
        return np.array(numbers, np.int64), (counts[0], counts[1]), blocks

    @staticmethod
    def _block(fields: batch.BodyFields, buffer: batch.Buffer) -> Any:
        block = ffi.new("pmBatchedData *")
        block.fields, block.floatArray, block.intArray = fields.value, buffer._float_arr, buffer._int_arr
        return block


def _number(pointer: Any) -> int:
    return int(ffi.cast("uintptr_t", pointer))
