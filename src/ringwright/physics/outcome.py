"""How the solution of one position ended, in words a technologist reads."""

from __future__ import annotations

from enum import IntEnum

__all__ = ["SENTENCES", "Outcome"]


class Outcome(IntEnum):
    """How a position ended; ``word`` is its short name, ``sentence`` its meaning."""

    STEADY = 0
    FOLD = 1
    LIFT_OFF = 2
    NOT_CONVERGED = 3

    @property
    def word(self) -> str:
        """Give the short name, as it stands in results."""
        return ("steady", "fold", "lift-off", "not converged")[self.value]

    @property
    def sentence(self) -> str:
        """Say what it means."""
        return SENTENCES[self]


SENTENCES = {
    Outcome.STEADY: "A steady balloon was found on the taut branch.",
    Outcome.FOLD: "No steady balloon: the traveller is lighter than the fold allows; the balloon collapses.",
    Outcome.LIFT_OFF: "No steady balloon: the yarn would lift the traveller off the ring.",
    Outcome.NOT_CONVERGED: "The balloon could not be followed to this traveller; no result is given.",
}
