"""The compiled stepper of the moving yarn (motion.c); where it is absent motion/stepping.py steps with NumPy."""

from __future__ import annotations

import ctypes
from functools import cache

import numpy as np
from numpy.typing import NDArray

from ringwright.physics.kernel import library

__all__ = ["available", "march"]

_DOUBLES = ctypes.POINTER(ctypes.c_double)
_INTS = ctypes.POINTER(ctypes.c_int)
SEEN_ROWS = 9
PIECES_MOST = 48

Array = NDArray[np.float64]


@cache
def _march() -> ctypes._NamedFuncPointer | None:
    loaded = library.loaded()
    function = getattr(loaded, "rw_march", None)  # a library of an older source has none
    if function is not None:
        function.argtypes = [_INTS, *([_DOUBLES] * 7)]
        function.restype = ctypes.c_int
    return function


def available() -> bool:
    """Say whether the compiled stepper is there."""
    return _march() is not None


def march(sizes: list[int], numbers: tuple[Array, ...], state: Array) -> tuple[int, Array]:
    """Step a yarn: ``sizes`` pieces, spans, moving, count, steps, rounds; ``state`` (4, count) is changed in place.

    ``numbers`` are the strand's, the grid's, the tensions at rest, the transposed inverse and the method's, as motion.c
    lays them out.  Gives the steps done and what was seen, (steps, 9).  Raises RuntimeError when the library is absent,
    ValueError for more than 48 pieces.
    """
    function = _march()
    if function is None:
        raise RuntimeError("the compiled stepper is not there; stepping.py chooses the route")
    given = [np.ascontiguousarray(part, dtype=np.float64) for part in numbers]
    seen = np.empty((sizes[4], SEEN_ROWS))
    arrays = (part.ctypes.data_as(_DOUBLES) for part in (*given, state, seen))
    done = function((ctypes.c_int * 6)(*sizes), *arrays)
    if done < 0:
        raise ValueError(f"the compiled stepper takes up to {PIECES_MOST} pieces, not {sizes[0]}")
    return done, seen
