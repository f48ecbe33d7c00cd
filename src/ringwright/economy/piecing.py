"""The piecer's round and other ways to serve broken ends: how long ends stay down, how many spindles one can mind.

A person who walks a fixed round meets ends as they come along the frame, not as they break: the patrol model. Queues
that send the server at once to the next stop (exponential or constant service) flatter a round of a thousand spindles
some thirtyfold in the time that an end is down; they are kept for single machines and as checks.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import expm1, inf, isfinite, log1p

import numpy as np
from scipy.special import gammaln, logsumexp

from ringwright.physics.real import Array

__all__ = ["Patrol", "Queue", "constant_service", "exponential_service", "largest_round", "patrol"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Patrol:
    """A round at rest in its own rhythm: times in s, shares in 1."""

    spindles: int
    down_at_visit: float
    """Share of visits that find the end down."""
    round_time: float
    running: float
    """Share of the time that a spindle's end is up."""
    time_down: float
    """Mean time from break to pieced."""
    piecing_share: float
    """Share of the piecer's time spent piecing."""


def patrol(spindles: int, break_rate: float, walking_time: float, piecing_time: float) -> Patrol:
    """Return the steady round of so many spindles, each breaking ``break_rate`` times a second while it runs.

    The number n of ends found down in a whole round is distributed as C(N,n) prod_{j<n} (e^{lambda (N w + j r)} - 1),
    w [s] to walk past one spindle and r [s] to piece one end. Source: the model is that of Mack, Murphy and Webb 1957
    (from memory); the solution is derived here and checked against whole chains and simulation.
    """
    count = np.arange(spindles + 1)
    with np.errstate(divide="ignore", over="ignore"):
        exponent = break_rate * (spindles * walking_time + count[:-1] * piecing_time)
        factors = exponent + np.log(-np.expm1(-exponent))  # ln(e^x - 1), safe for large x
    choices = np.log((spindles - count[:-1]) / count[1:])
    logs = np.concatenate(([0.0], np.cumsum(choices + factors)))
    weights = np.exp(logs - logs.max())
    found = float(weights @ count) / float(weights.sum()) / spindles
    whole = spindles * (walking_time + piecing_time * found)
    return Patrol(
        spindles=spindles,
        down_at_visit=found,
        round_time=whole,
        running=found / (break_rate * whole),
        time_down=whole / found - 1 / break_rate,
        piecing_share=spindles * piecing_time * found / whole,
    )


def largest_round(
    break_rate: float, walking_time: float, piecing_time: float, share: float, longest: float = inf, most: int = 20000
) -> int:
    """Return the most spindles, at most ``most``, that leave a piecer enough time.

    Piecing may take no more than a share of the time, and the round no more than ``longest`` [s].
    """

    def fits(spindles: int) -> bool:
        one = patrol(spindles, break_rate, walking_time, piecing_time)
        return one.piecing_share <= share and one.round_time <= longest

    # In a long round the share found down settles where piecing and walking share the time; look near there first.
    down = min(share * walking_time / (piecing_time * (1 - share)), 0.999)
    found = -log1p(-down) * (1 - share) / (break_rate * walking_time)
    if isfinite(longest):
        found = min(found, longest / (walking_time - piecing_time * expm1(-break_rate * longest)))
    guess = min(most, max(1, int(found)))
    reach = 4
    while not fits(max(1, guess - reach)) and guess > reach:
        reach *= 4
    low, high = max(1, guess - reach), min(most, guess + reach)
    while fits(high):
        if high == most:
            return most
        low, high = high, min(most, 2 * high)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if fits(middle) else (low, middle)
    return low


@dataclass(frozen=True, slots=True, kw_only=True)
class Queue:
    """Machines that stop and wait for one of a few servers: shares in 1, numbers and times in the caller's unit."""

    idle: float
    """Chance that no machine is stopped."""
    waiting: float
    """Mean number of machines that wait for a server."""
    stopped: float
    """Mean number of machines that wait or are served."""
    running: float
    """Share of the time that a machine runs."""
    wait: float
    """Mean time from stop to start of service."""
    chance_to_wait: float
    """Chance that a machine that stops finds all servers busy (by arrivals, not by time)."""


def exponential_service(machines: int, stop_rate: float, service_time: float, servers: int = 1) -> Queue:
    """Return the finite-source queue with exponential service (M/M/r//N).

    Source: textbooks; checked against printed tables of Peck and Hazelwood 1958 (as quoted) and worked examples.
    """
    n = np.arange(machines + 1)
    with np.errstate(divide="ignore"):
        steps = np.log((machines - n[:-1]) * stop_rate * service_time / np.minimum(n[1:], servers))
    logs = np.concatenate(([0.0], np.cumsum(steps)))
    chance = np.exp(logs - logsumexp(logs))
    waiting = float(np.maximum(n - servers, 0) @ chance)
    stopped = float(n @ chance)
    flow = stop_rate * (machines - stopped)
    arriving = (machines - n) * chance
    return Queue(
        idle=float(chance[0]),
        waiting=waiting,
        stopped=stopped,
        running=1 - stopped / machines,
        wait=waiting / flow,
        chance_to_wait=float(arriving[servers:].sum() / arriving.sum()),
    )


def constant_service(machines: int, stop_rate: float, service_time: float) -> float:
    """Return the mean number of machines that run when one server takes the same time for each stop.

    A = N S / (1 + N p S), S = sum_j C(N-1,j) prod_{i<=j} (e^{i p} - 1), p = service time x stop rate. Source: Ashcroft
    1950 (from memory), derived again and checked by simulation.
    """
    p, j = service_time * stop_rate, np.arange(machines)
    products = np.concatenate(([0.0], np.cumsum(np.log(np.expm1(p * j[1:])))))
    log_sum = float(logsumexp(_choose(machines - 1, j) + products))
    # A = N / (1/S + N p), with 1/S = exp(-log S), safe where S is beyond a float
    return float(machines / (np.exp(-log_sum) + machines * p))


def _choose(n: int, k: Array | np.ndarray[tuple[int], np.dtype[np.int_]]) -> Array:
    return np.asarray(gammaln(n + 1) - gammaln(k + 1) - gammaln(n - k + 1), dtype=np.float64)
