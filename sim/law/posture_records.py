"""The records of standing, bending, sitting and the single stair: a plan in time, what is felt, seat, edge, lock, push.

Each holds the record of the walk of the same kind as `base`, so contact, knee, ankle, limits of strength and books are
those of the walk. SI units and radians; x forward and y up, in the world.
"""

from __future__ import annotations

import numpy as np

from sim.law.records import BODIES, FORCES, FRAME, LEDGER, MEMORY, SETTINGS

PLAN_KNOTS = 20  # most knots of a plan
FLIGHT_STEPS = 8  # most landings, and edges, of a flight of stairs
NO_LOCK, FLEXION_LOCK, PERMANENT_LOCK = 0, 1, 2
NO_PUSH, PULSE, RAMP = 0, 1, 2
#: Why a lock opened last.
NEVER, HYPEREXTENSION, UNLOADED, TOE_LOADED = 0, 1, 2, 3

# What the person wants, at knots in time; between them cubic, with the given rate of the hip and else flat.
PLAN = np.dtype(
    [
        ("knots", "i8"),
        ("time", "f8", (PLAN_KNOTS,)),
        ("hip", "f8", (PLAN_KNOTS, 2)),
        ("hip_rate", "f8", (PLAN_KNOTS, 2)),
        ("lean", "f8", (PLAN_KNOTS,)),  # of the trunk, forward positive
        ("sound_share", "f8", (PLAN_KNOTS,)),  # of the vertical force that the sound leg is to give
        ("height_hold", "f8", (PLAN_KNOTS,)),  # 1: the sound leg holds the height; 0: it gives its share
        ("knee_press", "f8", (PLAN_KNOTS,)),  # 1: hip presses the prosthetic knee straight; 0: not; -1: bends it
        ("centre", "f8", (PLAN_KNOTS,)),  # wanted x of the mass centre, and of the pressure under both feet at rest
        ("resume_at", "f8"),  # the plan waits while the sound foot swings, and goes on from here when it has landed
        ("sinking_limit", "f8"),  # speed of the hip down that the sound leg lets pass [m/s]
        ("ends_at", "f8"),  # the run ends when the plan has come so far [s]; 0: not
        ("waits", "i8"),  # 1: on the way down the plan waits for the hip to sink as far as planned
        ("fastest_pace", "f8"),  # and goes on this many times as fast for a hip that sinks faster; 1: not
    ],
    align=True,
)
# How firmly the plan is held.
HOLD = np.dtype(
    [
        ("mass_share", "f8", (BODIES,)),  # of the whole mass
        ("centre", "f8", (BODIES, 2)),  # mass centre of each segment from its upper joint
        ("along_stiffness", "f8"),  # of the mass centre along [N/m]
        ("along_damping", "f8"),
        ("height_stiffness", "f8"),
        ("height_damping", "f8"),
        ("sinking_damping", "f8"),  # of the height where only a share is held [N s/m]
        ("trunk_stiffness", "f8"),
        ("trunk_damping", "f8"),
        ("trunk_weight", "f8"),  # weight x height of the trunk's mass centre [N m]
        ("leg_weight", "f8", (2,)),
        ("ankle_damping", "f8"),
        ("foot_flat", "f8"),
        ("hip_strategy", "f8"),  # share of a lacking force along that the hip makes up at the cost of the trunk
        ("guard_angle", "f8"),  # names as in the gains of the walk, whose guard of a straight knee is used
        ("guard_torque", "f8"),
        ("guard_damping", "f8"),
        ("knee_press", "f8"),  # extending moment at the prosthetic knee that is pressed straight [N m]
        ("balance_rate", "f8"),  # with which the mass centre is moved until both feet press where wanted [1/s]; 0: not
        ("balance_limit", "f8"),  # [m]
        ("least_sound_share", "f8"),  # of the weight that the sound leg keeps for balance while it holds the height
        ("pace_time", "f8"),  # in which the pace follows [s]
        ("pace_length", "f8"),  # the plan stops for a hip that is this much above it [m]
        ("shift_time", "f8"),  # in which weight goes over to the other foot for the balance [s]
        ("feel_time", "f8"),  # the prosthetic leg's force is felt through a low-pass [s]
        ("swing_stiffness", "f8", (3,)),  # hip, knee, ankle of a swinging sound leg [N m/rad]
        ("swing_damping", "f8", (3,)),
    ],
    align=True,
)
# One swing of the sound foot, on the stair; or one of each foot, the second some time after the first has landed.
SWING = np.dtype(
    [
        ("on", "i8"),  # how many swings
        ("leg", "i8", (2,)),  # whose
        ("start", "f8", (2,)),  # the first in time, the second after the landing of the first
        ("soonest", "f8", (2,)),  # the sound foot may swing sooner than that, but not before this,
        ("ahead", "f8"),  # once the extrapolated mass centre is so far ahead of the prosthetic ankle [m]
        ("duration", "f8", (2,)),
        ("ankle_to", "f8", (2, 2)),
        ("clearance", "f8"),
        ("foot_angle", "f8"),
        ("watch", "f8"),  # the run ends this long after the landing
    ],
    align=True,
)
# A level seat under the pelvis.
SEAT = np.dtype(
    [
        ("on", "i8"),
        ("below", "f8"),  # lowest point of the pelvis below the hip
        ("height", "f8"),
        ("front", "f8"),  # x of its front edge
        ("ends_at", "f8"),  # the run ends when it carries this share of the weight; 0: not
        ("stiffness", "f8"),
        ("dissipation", "f8"),
        ("friction", "f8"),
        ("anchor_stiffness", "f8"),
        ("anchor_damping", "f8"),
    ],
    align=True,
)
# Edges of treads, that meet a sole from below.
EDGE = np.dtype([("on", "i8"), ("x", "f8", (FLIGHT_STEPS,)), ("y", "f8", (FLIGHT_STEPS,))], align=True)
# A flight of stairs step over step: what each leg does; law in `sim.law.flight`. Arrays go by landing.
FLIGHT = np.dtype(
    [
        ("on", "i8"),  # how many landings
        ("start", "f8"),  # time of the first lift [s]; until then the plan is held
        ("leg", "i8", (FLIGHT_STEPS,)),  # whose
        ("duration", "f8", (FLIGHT_STEPS,)),  # of the swing before it
        ("wait", "f8", (FLIGHT_STEPS,)),  # from the landing before to the lift
        ("ahead", "f8"),  # of the prosthetic ankle: extrapolated mass centre with which the sound foot lifts [m]
        ("ankle_to", "f8", (FLIGHT_STEPS, 2)),
        # where hip and mass centre should be so long after a sound landing, with which rates
        ("time", "f8", (FLIGHT_STEPS,)),
        ("hip", "f8", (FLIGHT_STEPS,)),
        ("hip_rate", "f8", (FLIGHT_STEPS,)),
        ("centre", "f8", (FLIGHT_STEPS,)),
        ("centre_rate", "f8", (FLIGHT_STEPS,)),
        ("clearance", "f8"),
        ("foot_angle", "f8"),  # of the sound foot as it lands; toe down is negative
        ("reach_rate", "f8"),  # with which a late foot reaches down [m/s]
        ("roll_stiffness", "f8"),  # of the sound ankle, against dorsiflexion, while the heel comes down [N m/rad]
        ("roll_damping", "f8"),
        ("roll_most", "f8"),  # at most so much of what carries the leg's force on the ball of the foot
        ("roll_time", "f8"),  # in which that fades and the heel comes down [s]
        ("onset", "f8"),  # in which the landed sound leg begins to push
        ("most_up", "f8"),  # most that the landed sound leg pushes [body weights]
        ("height_stiffness", "f8"),
        ("height_damping", "f8"),
        ("thigh_high", "f8"),  # of the swinging prosthetic thigh, forward [rad]
        ("high_until", "f8"),  # share of its swing at which it begins to point where the foot should go,
        ("aim_from", "f8"),  # and at which it does
        ("thigh_stiffness", "f8"),
        ("thigh_damping", "f8"),
        ("share", "f8"),  # of the weight on the sound leg as the prosthetic foot lands
        ("giving", "f8"),  # time in which it is given up
        ("press", "f8"),  # of the knee by the prosthetic hip after its landing, as in the plan
        ("bent", "f8"),  # where the prosthetic knee is wanted at the end of a sound swing [rad]
        ("bend", "f8"),  # with which that hip flexes it, at the cost of the trunk [N m/rad]
        ("lean", "f8", (2,)),  # of the trunk while the prosthetic, the sound leg stands
        ("speed", "f8"),  # of the mass centre along while the weight goes onto the prosthetic leg [m/s]
    ],
    align=True,
)
PUSH = np.dtype(
    [("kind", "i8"), ("start", "f8"), ("duration", "f8"), ("force", "f8"), ("height", "f8")], align=True
)  # level force on the trunk, forward positive, at a height above the hip
LOCK = np.dtype(
    [
        ("kind", "i8"),
        ("close_load", "f8"),  # closes with more load than this [N] ...
        ("close_rate", "f8"),  # ... while the knee turns slower than this [rad/s] ...
        ("close_time", "f8"),  # ... for this long [s]
        ("open_hyperextension", "f8"),  # opens above this extending moment [N m]; 0: not by this
        ("open_load", "f8"),  # opens below this load [N]; 0: not by this
        ("open_toe_share", "f8"),  # opens when the pressure is beyond this share of ankle to toe; 0: not by this
        ("open_time", "f8"),  # for this long [s]
        ("stiffness", "f8"),
        ("damping", "f8"),
    ],
    align=True,
)
POSTURE = np.dtype(
    [
        ("base", SETTINGS),
        ("plan", PLAN),
        ("hold", HOLD),
        ("swing", SWING),
        ("seat", SEAT),
        ("edge", EDGE),
        ("flight", FLIGHT),
        ("push", PUSH),
        ("lock", LOCK),
        ("lowest_hip", "f8"),  # above the ground; lower is a fall
        ("most_ahead", "f8"),  # of the hip beyond the foremost ankle; further is a fall
        ("most_behind", "f8"),  # the same behind the rearmost one
        ("most_lean", "f8"),  # further over is a fall
    ],
    align=True,
)
LOCK_MEMORY = np.dtype(
    [
        ("closed", "i8"),
        ("angle", "f8"),  # knee flexion at which it closed
        ("still", "f8"),  # time for which closing has been due
        ("due", "f8"),  # time for which opening has been due
        ("closed_at", "f8"),
        ("opened_at", "f8"),  # last opening; 0 if never
        ("cause", "i8"),
        ("openings", "i8"),
    ],
    align=True,
)
FLIGHT_MEMORY = np.dtype(
    [
        ("made", "i8"),  # landings
        ("at", "f8", (FLIGHT_STEPS,)),  # their times
        ("lifted_at", "f8", (FLIGHT_STEPS,)),  # times at which the swings before them began
        ("lifted", "f8"),  # time at which the swing under way began; 0 when none is
        ("swing_from", "f8", (2,)),
        ("thigh_from", "f8"),
        ("foot_from", "f8"),
        ("knee_from", "f8"),  # flexion of the prosthetic knee
        ("hip_from", "f8", (2,)),  # height and its rate at the last landing
        ("centre_from", "f8", (2,)),
        ("heel_down", "i8"),  # 1: since then the sound heel has come down
        ("ankle_from", "f8"),  # dorsiflexion of the sound ankle at its last landing
    ],
    align=True,
)
POSTURE_MEMORY = np.dtype(
    [
        ("base", MEMORY),
        ("clock", "f8"),  # time in the plan
        ("pace", "f8"),  # with which it goes on, low-passed
        ("felt", "f8", (2, 2)),  # low-passed ground force on each foot, x and y [N]
        ("felt_centre", "f8", (2,)),  # low-passed centre of pressure ahead of each ankle [m]
        ("balance", "f8"),  # how far the mass centre has been moved for that [m]
        ("shift", "f8"),  # weight that the sound leg takes over for the balance [N], low-passed
        ("lifted", "f8"),  # time at which the swing under way began; 0 when none is
        ("sound_up", "i8"),  # 1 while the sound foot swings
        ("stepped", "f8"),  # time of the first landing; 0 before
        ("landed", "f8"),  # time of the last landing; 0 before
        ("swing_from", "f8", (2,)),
        ("seat_touching", "i8"),
        ("seat_anchor", "f8"),  # where the seat holds the pelvis, x, moved on as it rolls
        ("edge_touching", "i8", (2,)),
        ("edge_anchor", "f8", (2,)),
        ("lock", LOCK_MEMORY),
        ("flight", FLIGHT_MEMORY),
    ],
    align=True,
)
# What acts beside the forces of the walk.
POSTURE_FORCES = np.dtype(
    [
        ("base", FORCES),
        ("ground", "f8", (2, 2)),  # whole force on each foot, x and y
        ("seat_elastic", "f8"),
        ("seat_damping", "f8"),
        ("seat_friction", "f8"),
        ("seat_arm", "f8", (2,)),  # from the trunk's mass centre
        ("edge_elastic", "f8", (2,)),
        ("edge_damping", "f8", (2,)),
        ("edge_friction", "f8", (2,)),
        ("edge_tangent", "f8", (2, 2)),
        ("edge_arm", "f8", (2, 2)),
        ("lock", "f8"),  # torque on the prosthetic knee, flexing positive
        ("push", "f8"),
        ("push_arm", "f8", (2,)),
        ("wanted_hip", "f8", (2,)),
        ("wanted_lean", "f8"),
        ("wanted_centre", "f8"),
        ("sound_share", "f8"),
        ("clock", "f8"),
    ],
    align=True,
)
POSTURE_FRAME = np.dtype(
    [
        ("base", FRAME),
        ("ground", "f8", (2, 2)),
        ("seat", "f8", (2,)),  # force on the trunk, x and y
        ("edge", "f8", (2,)),  # force of the edge across each sole
        ("lock", "f8"),
        ("lock_closed", "i8"),
        ("push", "f8"),
        ("push_arm", "f8", (2,)),
        ("seat_arm", "f8", (2,)),
        ("wanted_hip", "f8", (2,)),
        ("wanted_lean", "f8"),
        ("wanted_centre", "f8"),
        ("sound_share", "f8"),
        ("clock", "f8"),
    ],
    align=True,
)
#: Sources of energy beside those of the walk, in the order of the book.
POSTURE_SOURCES = (
    "seat elastic",
    "seat damping",
    "seat friction",
    "edge elastic",
    "edge damping",
    "edge friction",
    "knee lock",
    "push",
)
POSTURE_LEDGER = np.dtype(
    [("base", LEDGER), ("work", "f8", (len(POSTURE_SOURCES),)), ("through", "f8", (len(POSTURE_SOURCES),))],
    align=True,
)
