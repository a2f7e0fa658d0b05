"""What every passive walker can do: one step, and the search for a gait that repeats."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, Self

import numpy as np

from sim.errors import RampwalkError, check_range, is_number, shown
from sim.passive.march import Array, extrapolated

NEWTON_ROUNDS = 25
MOST_STARTS = 8  # groups of the grid that are followed up
NEAR = 1e-9  # a state that comes back this close, in dimensionless coordinates, repeats


@dataclass(frozen=True, eq=False)
class Landing:
    """Just after a heel-strike. Where an array is expected it stands for its state.

    Attributes
    ----------
    state : ndarray
        As the walker describes it.
    duration : float
        Since the heel-strike before [s].
    step_length : float
        Contact to contact along the slope [m].
    energy_lost : float
        In all collisions of the step [J].
    """

    state: Array
    duration: float
    step_length: float
    energy_lost: float

    def __array__(self, dtype: Any = None, copy: bool | None = None) -> Array:
        """State as an array."""
        return np.array(self.state, dtype=dtype, copy=copy)

    def __len__(self) -> int:
        return len(self.state)

    def __iter__(self) -> Iterator[float]:
        return iter(self.state)

    def __getitem__(self, index: Any) -> Any:
        return self.state[index]


@dataclass(frozen=True, eq=False)
class Cycle:
    """A gait that repeats.

    Attributes
    ----------
    state : ndarray
        Just after a heel-strike.
    step_period, step_length, energy_lost : float
        Of one step; of a cycle of several steps, their means [s], [m], [J].
    multipliers : ndarray
        Factors by which small deviations grow from one cycle to the next, largest first; complex in general.
    """

    state: Array
    step_period: float
    step_length: float
    energy_lost: float
    multipliers: Array

    @property
    def stable(self) -> bool:
        """True if small deviations die out: all multipliers inside the unit circle."""
        return bool(np.abs(self.multipliers).max() < 1.0)


@dataclass(frozen=True, eq=False, kw_only=True)
class Walker(ABC):
    """Base of the passive walkers.

    Attributes
    ----------
    time_steps : int
        Equal time steps from one event to the next, in the coarsest run.
    levels : int
        Runs with 1, 2, 4 ... times as many, from which the limit is extrapolated; 1 is the engine's plain result.
    rough : tuple of int
        Time steps and levels while a gait is sought without a guess.
    """

    time_steps: int = 100
    levels: int = 4
    rough: tuple[int, int] = (25, 3)

    @abstractmethod
    def checked(self, state: Any) -> Array:
        """State as an array, if the walker can start from it; RampwalkError otherwise."""

    @abstractmethod
    def coordinates(self, state: Array) -> Array:
        """Independent dimensionless numbers of a state just after heel-strike."""

    @abstractmethod
    def state_at(self, coordinates: Array) -> Array:
        """State just after heel-strike from those numbers."""

    @abstractmethod
    def run(self, state: Array, count: int) -> Array:
        """One step in `count` time steps: new state, then duration, step length, energy lost."""

    @abstractmethod
    def grid(self) -> list[list[Array]]:
        """Coordinates from which gaits are sought; of each group the one is taken that repeats best."""

    def step(self, state: Any) -> Landing:
        """From just after one heel-strike to just after the next.

        Parameters
        ----------
        state : array_like
            As `find_cycle().state`; angles are taken as given, also where they leave one foot off the ground.

        Raises
        ------
        RampwalkError
            If there is no next heel-strike, with the reason: a fall, a wheel that rolls back.
        """
        start = self.checked(state)
        row = extrapolated(lambda count: self.run(start, count), self.time_steps, self.levels)
        return Landing(row[:-3], float(row[-3]), float(row[-2]), float(row[-1]))

    def find_cycle(self, guess: Any = None, steps: int = 1) -> Cycle:
        """A gait that repeats after `steps` steps.

        Parameters
        ----------
        guess : array_like, optional
            State just after heel-strike, near the gait. Without it the long-period gait is sought, the one that is
            stable where a stable one exists; for several steps, what the walker settles to if that gait is unstable.
        steps : int
            1 to 16.

        Raises
        ------
        RampwalkError
            If no gait is found.
        """
        check_range("steps", steps, 1, 16, "", "a cycle of more steps cannot be told from one without order")
        if not isinstance(steps, int):
            raise RampwalkError(f"steps = {shown(steps)} is not a whole number; give 1 to 16.", "steps", steps)
        if guess is not None:
            return self._cycle(self._newton(self.coordinates(self.checked(guess)), steps), steps)
        near = self._search()
        single = self._cycle(self._newton(near, 1), 1)
        if steps == 1 or single.stable:
            return single if steps == 1 else self._cycle(self.coordinates(single.state), steps)
        return self._cycle(self._newton(self._settled(self.coordinates(single.state), steps), steps), steps)

    def _roughly(self) -> Self:
        return replace(self, time_steps=self.rough[0], levels=self.rough[1])

    def _after(self, coordinates: Array, steps: int) -> tuple[Array, Array]:
        """Coordinates `steps` steps on, and the sums of duration, step length and energy lost."""
        state, sums = self.state_at(coordinates), np.zeros(3)
        for _ in range(steps):
            landing = self.step(state)
            state = landing.state
            sums += landing.duration, landing.step_length, landing.energy_lost
        return self.coordinates(state), sums

    def _deviation(self, coordinates: Array, steps: int) -> Array:
        return self._after(coordinates, steps)[0] - coordinates

    def _jacobian(self, coordinates: Array, steps: int) -> Array:
        """Change of the coordinates `steps` steps on with the coordinates now, by central differences."""
        columns = []
        for i, value in enumerate(coordinates):
            shift = np.zeros(len(coordinates))
            shift[i] = 1e-4 * max(abs(value), 0.1)
            up, down = (self._after(coordinates + sign * shift, steps)[0] for sign in (1.0, -1.0))
            columns.append((up - down) / (2.0 * shift[i]))
        return np.array(columns).T

    def _cycle(self, coordinates: Array, steps: int) -> Cycle:
        """The gait at these coordinates with its stability."""
        multipliers = np.linalg.eigvals(self._jacobian(coordinates, steps))
        period, length, lost = (self._after(coordinates, steps)[1] / steps).tolist()
        order = np.argsort(-np.abs(multipliers))
        return Cycle(self.state_at(coordinates), period, length, lost, multipliers[order])

    def _newton(self, coordinates: Array, steps: int) -> Array:
        """Coordinates of the nearest cycle: Newton's method, shorter steps where a full one makes it worse.

        The derivative is kept as long as the deviation falls fast.
        """
        deviation, change = self._deviation(coordinates, steps), np.zeros((0, 0))
        for _ in range(NEWTON_ROUNDS):
            size = np.abs(deviation).max()
            if size < NEAR:
                return coordinates
            fresh = not change.size
            if fresh:
                change = self._jacobian(coordinates, steps) - np.eye(len(coordinates))
            move = np.linalg.lstsq(change, -deviation)[0]
            taken = self._shortened(coordinates, move, size, steps)
            if taken is None and fresh:
                break
            if taken is None or np.abs(taken[1]).max() > 0.1 * size:
                change = np.zeros((0, 0))
            coordinates, deviation = taken or (coordinates, deviation)
        if np.abs(deviation).max() < 100.0 * NEAR:
            return coordinates
        raise RampwalkError("no repeating gait near this start; give another guess, or change slope or masses.")

    def _shortened(self, coordinates: Array, move: Array, size: float, steps: int) -> tuple[Array, Array] | None:
        """Coordinates and deviation after the largest share of a move that lowers the deviation."""
        for share in (1.0, 0.5, 0.25, 0.12, 0.06, 0.03):
            try:
                trial = self._deviation(coordinates + share * move, steps)
            except RampwalkError:
                continue
            if np.abs(trial).max() < (1.0 - 0.1 * share) * size:
                return coordinates + share * move, trial
        return None

    def _search(self) -> Array:
        """Coordinates of the gait with the longest period, roughly."""
        rough = self._roughly()
        ranked = sorted(filter(None, map(rough._best, self.grid())), key=lambda pair: pair[0])
        best, longest = None, 0.0
        for _, start in ranked[:MOST_STARTS]:
            try:
                found = rough._newton(start, 1)
                period = rough._after(found, 1)[1][0]
            except RampwalkError:
                continue
            if period > longest:
                best, longest = found, period
        if best is None:
            raise RampwalkError(self.no_gait())
        return best

    def _best(self, group: list[Array]) -> tuple[float, Array] | None:
        """Least deviation after one step in a group of coordinates, and where; None if all of them fall."""
        found = []
        for start in group:
            try:
                found.append((float(np.abs(self._deviation(start, 1)).max()), start))
            except RampwalkError:
                continue
        return min(found, key=lambda pair: pair[0]) if found else None

    def no_gait(self) -> str:
        """Sentence for a search that found nothing."""
        return "no passive gait was found on this slope; take another slope or other masses, or give a guess."

    def _settled(self, coordinates: Array, steps: int) -> Array:
        """Where the walker is after many steps from near an unstable gait."""
        rough, now = self._roughly(), coordinates * (1.0 + 1e-3)
        try:
            for _ in range(60):
                now = rough._after(now, steps)[0]
        except RampwalkError as error:
            raise RampwalkError(f"the walker settles to no cycle of {steps} steps: {error}", "steps", steps) from error
        return now


def numbers(name: str, state: Any, count: int) -> Array:
    """State as an array of `count` finite numbers."""
    try:
        row = np.array([state] if is_number(state) else state, float)
    except (TypeError, ValueError) as error:
        raise RampwalkError(f"{name} = {shown(state)} is not a list of {count} numbers.", name, state) from error
    if row.shape != (count,) or not np.isfinite(row).all():
        raise RampwalkError(f"{name} = {shown(state)} is not a list of {count} finite numbers.", name, state)
    return row
