"""Where the energy of a run came from and went to: the law's book as named numbers."""

from __future__ import annotations

from typing import Any

from sim.law.records import SOURCES

JOINTS = tuple(f"{joint}_{side}" for joint in ("hip", "knee", "ankle") for side in ("prosthetic", "sound"))


def energy_book(book: Any) -> dict[str, float | None]:
    """Energy of a whole run, by source.

    Parameters
    ----------
    book : record of `LEDGER`

    Returns
    -------
    dict of str to float
        All in joules. For every source `<source>_in_j`, what it gave the bodies, and `<source>_out_j`, what it took
        from them, both positive or zero: a muscle does both, a damper only takes, a spring gives back what it took.
        Gravity gives going down. Further `kinetic_change_j` and `potential_change_j` from start to end,
        `passed_through_j`, the sum of all that was given, `residual_j`, the kinetic change that no source explains,
        `residual_fraction` = its size / `passed_through_j` (None if nothing was given), and
        `knee_share_of_slope`, see `knee_share`.

    Notes
    -----
    Work is force x mean of the velocities before and after each time step, so the residual is what the joints'
    constraint forces did. It says nothing about whether a force law is right: a wrong sign would also close.
    """
    energy: dict[str, float | None] = {}
    given = 0.0
    for source, work, through in zip(SOURCES, book["work"].tolist(), book["through"].tolist(), strict=True):
        name = source.replace(" ", "_")
        energy[f"{name}_in_j"], energy[f"{name}_out_j"] = 0.5 * (through + work), 0.5 * (through - work)
        given += 0.5 * (through + work)
    kinetic, potential = (book["now"] - book["start"]).tolist()
    residual = kinetic - float(book["work"].sum())
    energy |= {
        "kinetic_change_j": kinetic,
        "potential_change_j": potential,
        "passed_through_j": given,
        "residual_j": residual,
        "residual_fraction": abs(residual) / given if given > 0.0 else None,
    }
    energy["knee_share_of_slope"] = knee_share(energy)
    return energy


def net(energy: dict[str, float | None], source: str) -> float:
    """What a source gave less what it took [J]; source as in `SOURCES` with underscores."""
    given, taken = energy[f"{source}_in_j"], energy[f"{source}_out_j"]
    assert given is not None  # only ratios can be None
    assert taken is not None
    return given - taken


def knee_share(energy: dict[str, float | None]) -> float | None:
    """Net energy that the prosthetic knee (or the first sound one) took, without its end stops, as a share of what
    gravity gave over the whole run; None unless the run went down.
    """
    slope = net(energy, "gravity")
    return -net(energy, "knee_prosthetic") / slope if slope > 0.0 else None


def positive_work(energy: dict[str, float | None]) -> dict[str, float]:
    """Energy given by each joint, without its end stops [J]; keys as in `JOINTS`.

    A prosthetic ankle gives only what its spring had stored. The damping part of a sound ankle is a source of its own
    in the book, so an ankle's positive work is a little less than its number here; the metrics take both together.
    """
    return {joint: energy[f"{joint}_in_j"] or 0.0 for joint in JOINTS}
