"""Walking on slopes with one above-knee prosthesis, simulated in the plane.

Names are loaded when first used, so that importing `sim` loads no engine, no compiler and no plotting.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from sim.activities.walk import walk
    from sim.body import Body, build_body
    from sim.errors import RampwalkError
    from sim.result import WalkResult
    from sim.scenario import (
        Components,
        Contact,
        Ground,
        Knee,
        Numerics,
        Person,
        ProstheticFoot,
        Scenario,
        replace_by_name,
    )

__version__ = "0.1.0"

__all__ = [
    "Body",
    "Components",
    "Contact",
    "Ground",
    "Knee",
    "Numerics",
    "Person",
    "ProstheticFoot",
    "RampwalkError",
    "Scenario",
    "WalkResult",
    "build_body",
    "replace_by_name",
    "walk",
]

_HOME = {"RampwalkError": "sim.errors", "Body": "sim.body", "build_body": "sim.body"}
_HOME |= {"walk": "sim.activities.walk", "WalkResult": "sim.result"}


def __getattr__(name: str) -> Any:
    """Public name from the module it lives in."""
    if name not in __all__:
        raise AttributeError(f"module 'sim' has no attribute {name!r}")
    return getattr(import_module(_HOME.get(name, "sim.scenario")), name)


def __dir__() -> list[str]:
    """Public names."""
    return sorted([*__all__, "__version__"])
