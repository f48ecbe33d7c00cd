"""The type of a number in an equation: one float, or an array of them."""

from __future__ import annotations

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

__all__ = ["Array", "Real"]

Array = NDArray[np.float64]

# All arguments of a call that are Real are of one kind: all floats, or all arrays of one shape.
Real = TypeVar("Real", float, NDArray[np.float64])
