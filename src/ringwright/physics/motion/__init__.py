"""How the spinning balloon moves: its answer to parts off centre, its growth rates, and its motion in time."""

from ringwright.physics.motion.modes import Modes, modes
from ringwright.physics.motion.offset import OffsetResponse, PartResponse, offset_response
from ringwright.physics.motion.running import Manner, Motion, Offsets, motion_in_time

__all__ = [
    "Manner",
    "Modes",
    "Motion",
    "OffsetResponse",
    "Offsets",
    "PartResponse",
    "modes",
    "motion_in_time",
    "offset_response",
]
