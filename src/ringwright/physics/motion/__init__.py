"""How the spinning balloon moves: small motions, growth rates and the motion in time."""

from ringwright.physics.motion.offset import OffsetResponse, PartResponse, offset_response

__all__ = ["OffsetResponse", "PartResponse", "offset_response"]
