"""Ring-spinning physics: numbers in, numbers out; knows no mill."""

from ringwright.physics.outcome import Outcome
from ringwright.physics.position import LimitMasses, Positions, Solutions, Threads, limit_masses, solve, threads

__all__ = ["LimitMasses", "Outcome", "Positions", "Solutions", "Threads", "limit_masses", "solve", "threads"]
