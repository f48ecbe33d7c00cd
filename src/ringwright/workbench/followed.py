"""The limits of positions that were followed before, kept: while a slider moves, most of them are asked for again."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import fields

import numpy as np

from ringwright.physics.position import LimitMasses, Positions, limit_masses

__all__ = ["Followed"]

KEPT = 20_000
_FREE = {"traveller_mass"}
"""The branch runs over all traveller masses."""
_FREE_IN_STILL_YARN = {"traveller_mass", "traveller_speed"}
"""Without feed and gravity the balloon's shape, and so its limits, do not depend on the speed either."""
_NAMES = [field.name for field in fields(LimitMasses)]


class Followed:
    """Follows the branches of positions as ``limit_masses`` does, and remembers; to be used from one thread."""

    def __init__(self) -> None:
        self._known: OrderedDict[bytes, tuple[float, ...]] = OrderedDict()

    def __call__(self, positions: Positions) -> LimitMasses:
        """Give the limits of positions, following only those that are new."""
        keys = _keys(positions)
        new = [k for k, key in enumerate(keys) if key not in self._known]
        if new:
            answer = limit_masses(positions.take(np.array(new)))
            rows = np.stack([np.asarray(getattr(answer, name), dtype=np.float64) for name in _NAMES], axis=1)
            self._known |= zip((keys[k] for k in new), map(tuple, rows.tolist()), strict=True)
        table = np.array([self._known[key] for key in keys]).reshape(len(keys), len(_NAMES))
        for key in keys:
            self._known.move_to_end(key)
        while len(self._known) > KEPT:
            self._known.popitem(last=False)
        columns = dict(zip(_NAMES, table.T, strict=True))
        return LimitMasses(**{**columns, "followed": columns["followed"] > 0.5})


def _keys(positions: Positions) -> list[bytes]:
    still = not (np.any(positions.feed_speed) or np.any(positions.gravity))
    free = _FREE_IN_STILL_YARN if still else _FREE
    told = [getattr(positions, field.name) for field in fields(Positions) if field.name not in free]
    return [row.tobytes() for row in np.stack([*told, np.full(len(positions), float(still))], axis=1)]
