"""What one spindle asks of its drive, as the economy of the frame gives it."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["SpindleLoad"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SpindleLoad:
    """Power of one spindle at the main speed [W], and the yarn that it makes.

    ``yarn`` is that of traveller, balloon, control ring and drawing the yarn in, ``air`` that of the cop; ``bare`` the
    mill's own figure for bolster and share of the belt together. ``speed`` [rad/s]; ``bare_exponent`` with which the
    bare spindle's power grows; ``output`` the yarn of one spindle [kg/s]; ``efficiency`` from mains to shaft [1].
    """

    yarn: float
    air: float
    bare: float
    speed: float
    bare_exponent: float
    output: float
    efficiency: float

    def exponent(self, bolster: float) -> float:
        """Return how the load grows with speed near the main speed: the parts' own powers of the speed, weighed [1].

        Forces of the yarn grow with the square of the speed, so its power with the cube; the air's with about 2.8
        (Theodorsen and Regier 1944, from memory).
        """
        whole = self.yarn + self.air + bolster
        return (3.0 * self.yarn + 2.8 * self.air + self.bare_exponent * bolster) / whole

    def at_spindle(self, bolster: float) -> float:
        """Return the power [W] that the wharve must take in, with a bolster that takes so much [W]."""
        return self.yarn + self.air + bolster
