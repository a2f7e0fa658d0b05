"""`rampwalk stand`: standing on a slope: load share, creep, what opens a lock."""

from __future__ import annotations

import argparse
import json
from typing import Any

from sim.caution import CAUTION, EPILOG
from sim.commands.posture_options import Rows, add_options, run_activity, settings_from
from sim.errors import RampwalkError
from sim.files import check_target, write_file

#: Short table: label, digits, metric.
TABLE = Rows(
    (
        ("load share of the prosthetic leg", 3, "prosthetic_load_share"),
        ("the same from moment balance", 3, "prosthetic_load_share_by_statics"),
        ("force across the slope / weight cos(slope)", 4, "normal_over_weight_cos_slope"),
        ("force along the slope / weight sin(slope)", 4, "along_over_weight_sin_slope"),
        ("creep of the prosthetic knee [deg/min]", 3, "knee_creep_deg_per_min"),
        ("creep of the mass centre [mm/min]", 2, "mass_centre_creep_mm_per_min"),
        ("moment that presses the prosthetic knee straight [N m]", 1, "prosthetic_knee_extending_moment_nm"),
        ("hip torque back on the prosthetic side [N m]", 1, "prosthetic_hip_extending_torque_nm"),
        ("sound knee torque [N m]", 1, "sound_knee_extending_torque_nm"),
        ("lock closed", 0, "lock_closed"),
        ("trial ended after [s]", 2, "trial_event_at_s"),
        ("mass centre moved forward by then [mm]", 0, "trial_mass_centre_forward_mm"),
        ("push then [N]", 1, "trial_push_n"),
        ("load on the prosthetic leg then [BW]", 3, "trial_prosthetic_load_bw"),
    )
)


def add_parser(subparsers: Any) -> None:
    """Add the parser of this command."""
    from sim.activities.stand import Stand

    parser = subparsers.add_parser(
        "stand",
        help="standing on a slope: load share, creep, what opens a lock",
        description="Stand on a slope; push, lean or unload with --trial. A fall is a result: the exit status is 0.",
        epilog=EPILOG,
        allow_abbrev=False,
    )
    add_options(parser, Stand)
    parser.add_argument(
        "--limits", action="store_true", help="instead: how much lean, push and unloading the stance bears"
    )


def run(options: argparse.Namespace) -> int:
    """Do it, and write what was asked for."""
    from sim.activities.stand import Stand, stand

    if options.limits:
        return _limits(options)
    return run_activity(options, Stand, stand, TABLE)


def _limits(options: argparse.Namespace) -> int:
    from sim.activities.stand import Stand
    from sim.activities.stand_limits import limits

    settings = settings_from(options, Stand)
    if options.figure:
        raise RampwalkError("--figure does not go with --limits; leave one of them out.", "--figure", options.figure)
    target = None if options.json in {None, "-"} else check_target(options.json, "--json", options.force)
    table = limits(settings)
    if options.json is None:
        rows = []
        for name, value in table.items():
            shown = f"{value:.3g}" if isinstance(value, float) else str(value or "-")
            rows.append(f"{name:40}{shown:>14}")
        print("\n".join([*rows, "", CAUTION]))
    else:
        text = json.dumps(table, indent=2, allow_nan=False)
        write_file(target, text + "\n", options.force, "--json") if target else print(text)
    return 0
