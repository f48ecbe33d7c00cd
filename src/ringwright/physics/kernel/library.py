"""The compiled route: the C library that the install built, called through ctypes."""

from __future__ import annotations

import ctypes
import sys
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

__all__ = ["available", "loaded", "shoot", "span"]

_SUFFIX = {"win32": ".dll", "darwin": ".dylib"}.get(sys.platform, ".so")
_DOUBLES = ctypes.POINTER(ctypes.c_double)


@cache
def _library() -> ctypes.CDLL | None:
    path = Path(__file__).with_name("_balloon" + _SUFFIX)
    if not path.exists():
        return None
    try:
        there = ctypes.CDLL(str(path))
        _declare(there)
    except (OSError, AttributeError):  # built for another machine or an older source: NumPy takes over, ROUTE says so
        return None
    return there


def _declare(there: ctypes.CDLL) -> None:
    there.rw_span.argtypes = [ctypes.c_long, ctypes.c_int, ctypes.c_int, _DOUBLES, _DOUBLES, _DOUBLES]
    there.rw_span.restype = ctypes.c_int
    there.rw_shoot.argtypes = [ctypes.c_long, ctypes.c_int, ctypes.c_int, _DOUBLES, _DOUBLES, _DOUBLES, _DOUBLES]
    there.rw_shoot.restype = None


def loaded() -> ctypes.CDLL | None:
    """Give the compiled library, or None where there is none."""
    return _library()


def available() -> bool:
    """Say whether the compiled library is there and loads."""
    return _library() is not None


def span(
    parameters: NDArray[np.float64],
    state: NDArray[np.float64],
    steps: int,
    tangents: int,
    *,
    keep_nodes: bool = False,
) -> tuple[NDArray[np.float64], NDArray[np.float64] | None]:
    """Do what ``kernel.span`` says, in C; raises RuntimeError when the library is absent."""
    there = _library()
    if there is None:
        raise RuntimeError("the compiled balloon library is not there; ask kernel.span, which chooses the route")
    carried = np.array(state, dtype=np.float64, order="C", copy=True)
    given = np.ascontiguousarray(parameters, dtype=np.float64)
    cases = carried.shape[1]
    nodes = np.empty((steps + 1, 6, cases)) if keep_nodes else None
    where = nodes.ctypes.data_as(_DOUBLES) if nodes is not None else None
    code = there.rw_span(
        cases, steps, tangents, given.ctypes.data_as(_DOUBLES), carried.ctypes.data_as(_DOUBLES), where
    )
    if code:
        raise ValueError(f"the balloon library carries 0, 2 or 3 tangents, not {tangents}")
    return carried, nodes


def shoot(
    cases: NDArray[np.float64], w: NDArray[np.float64], contact: NDArray[np.bool_], steps: int, *, ringed: bool
) -> NDArray[np.float64]:
    """Shoot whole balloons: ``cases`` (12, n), ``w`` (3, n); gives the rows of a Shot (26, n); see shoot.py."""
    there = _library()
    if there is None:
        raise RuntimeError("the compiled balloon library is not there; shoot.py chooses the route")
    count = w.shape[1]
    given, unknowns = np.ascontiguousarray(cases), np.ascontiguousarray(w)
    pressed, rows = contact.astype(np.float64), np.empty((26, count))
    there.rw_shoot(count, int(ringed), steps, *(a.ctypes.data_as(_DOUBLES) for a in (given, unknowns, pressed, rows)))
    return rows
