"""Laws to break on purpose: the right text, and a wrong one in its place."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Change:
    """In `file`, `right` must stand exactly once; `wrong` takes its place."""

    file: str
    right: str
    wrong: str


@dataclass(frozen=True)
class Break:
    """One wrong law; `what` says it in a sentence for a reader."""

    name: str
    what: str
    changes: tuple[Change, ...]


_KNEE, _SEGMENTS, _LOOPS = "sim/law/knee.py", "sim/parameters/segments_winter2009.py", "sim/drivers/loops.py"
_DAMPER = "knee.flexion_resistance * flexion_rate"
_ENGINE_GRAVITY = Change("sim/drivers/engine.py", "= (0.0, -9.81)", "= (0.0, -9.0)")
_LAW_GRAVITY = Change("sim/law/records.py", "GRAVITY = 9.81", "GRAVITY = 9.0")
BREAKS = (
    Break(
        "knee-sign",
        "the loaded prosthetic knee pushes into flexion where it should resist it (both of its laws)",
        (
            Change(_KNEE, f"return -{_DAMPER} * flexion_rate\n", f"return {_DAMPER} * flexion_rate\n"),
            Change(_KNEE, f"return -{_DAMPER}\n", f"return {_DAMPER}\n"),
        ),
    ),
    Break(
        "shank-mass",
        "shank 0.0565 of the body mass in place of 0.0465, taken from the thigh, so that the sum stays 1",
        (
            Change(_SEGMENTS, '"thigh": (0.100,', '"thigh": (0.090,'),
            Change(_SEGMENTS, '"shank": (0.0465,', '"shank": (0.0565,'),
        ),
    ),
    Break(
        "contact-stiffness",
        "the ground twice as stiff as its setting says",
        (Change("sim/law/contact.py", "elastic = stiffness * depth", "elastic = 2.0 * stiffness * depth"),),
    ),
    Break(
        "old-pose",
        "forces of a walk at the old pose, one time step before the engine applies them",
        (Change(_LOOPS, "pose = look(state, dt, s.person)", "pose = look(state, 0.0, s.person)"),),
    ),
    Break("engine-gravity", "gravity 9.0 in the engine, 9.81 in the laws and the energy book", (_ENGINE_GRAVITY,)),
    Break("law-gravity", "gravity 9.0 in the laws and the energy book, 9.81 in the engine", (_LAW_GRAVITY,)),
    Break("gravity", "gravity 9.0 in the engine, the laws and the energy book", (_ENGINE_GRAVITY, _LAW_GRAVITY)),
)  # fmt: skip


def break_in(folder: Path, law: Break) -> None:
    """Break one law in a copy of the repository.

    Raises
    ------
    ValueError
        If a text to be replaced does not stand in its file exactly once: the law has been rewritten.
    """
    for change in law.changes:
        file = folder / change.file
        text = file.read_text(encoding="utf-8")
        if text.count(change.right) != 1:
            raise ValueError(
                f"{law.name}: {change.right.strip()!r} stands {text.count(change.right)} times in {change.file}, not "
                "once; bring experiments/broken_laws/laws.py up to date"
            )
        file.write_text(text.replace(change.right, change.wrong), encoding="utf-8")
