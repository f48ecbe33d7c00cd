"""The order of correction: worst effect first, and within one stop of the frame the shortest way past its spindles."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ringwright.centring.side import Sides

__all__ = ["in_stops"]


def in_stops(spindles: Sequence[int], weights: Sequence[float], of_stop: int, sides: Sides) -> tuple[list[int], ...]:
    """Part the spindles into stops of at most ``of_stop``: the worst in the first stop, the next worst in the second.

    Within a stop one walks up side 1 and back down side 2, which is the shortest way round a frame. Equal weights
    keep the order of the walk.
    """
    turn = np.array([sides.walk(one) for one in spindles])
    order = np.lexsort((turn, -np.asarray(weights)))
    cuts = [order[k : k + of_stop] for k in range(0, len(order), of_stop)]
    return tuple([spindles[k] for k in sorted(cut.tolist(), key=lambda k: turn[k])] for cut in cuts)
