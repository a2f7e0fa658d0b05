"""How the laws are compiled: one decorator for pieces, one for the entry points whose machine code is kept on disk.

The pieces also compile for a CUDA card, where a kernel calls them like any other function.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any, TypeVar

import numba
from numba import njit

Function = TypeVar("Function", bound=Callable[..., Any])

#: Compiled piece of a law; fused into whatever calls it.
law: Callable[[Function], Function] = njit(nogil=True, error_model="numpy")


def cache_folder() -> str:
    """Folder for machine code, named by a hash of every source file that can end up in it.

    numba notices a change only in the file of the entry point itself; the hash makes a change in any law count.
    """
    digest = hashlib.sha256(numba.__version__.encode())
    package = Path(__file__).resolve().parent.parent
    for folder in ("law", "drivers"):
        for source in sorted((package / folder).glob("*.py")):
            digest.update(source.name.encode() + source.read_bytes())
    base = os.environ.get("RAMPWALK_CACHE_DIR") or os.environ.get("XDG_CACHE_HOME") or "~/.cache"
    return str(Path(base).expanduser() / "rampwalk" / digest.hexdigest()[:16])


def entry(function: Function) -> Function:
    """Compile an entry point and keep its machine code; without a writable folder it is compiled anew each time."""
    folder = Path(cache_folder())
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return law(function)
    if not os.access(folder, os.W_OK):
        return law(function)
    kept = numba.config.CACHE_DIR
    numba.config.CACHE_DIR = str(folder)
    try:
        compiled = njit(nogil=True, error_model="numpy", cache=True)(function)
    finally:
        numba.config.CACHE_DIR = kept
    _save_if_possible(compiled)
    return compiled


def _save_if_possible(compiled: Any) -> None:
    """Let a full disk cost only time: machine code that cannot be saved is compiled anew the next time."""
    save = compiled._cache.save_overload

    def attempt(*arguments: Any) -> None:
        with suppress(OSError):
            save(*arguments)

    compiled._cache.save_overload = attempt
