"""The quickest course under an envelope: the best over a grid of corners, then finer and finer around it.

A course is a run of straight lines between corners, each a share of the doff and a speed. Whether a line may be driven
depends on its two corners only, and its time adds to the others', so the quickest course over a grid of corners is
found by dynamic programming: from the last corner back, the least time from every corner to the end. The grid is then
drawn together around the best course. With fixed places and no ramp the time is a convex function of the speeds under
linear bounds, so what is found there is the least; over the places the first grid covers the whole doff.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from ringwright.improve.drive import Drive, SpeedCourse
from ringwright.physics.real import Array

__all__ = ["Road", "drivable", "quickest"]

SPEEDS, FREE_SPEEDS, FINE_SPEEDS, FINE_SHARES = 64, 40, 13, 5
ROUNDS, SHRINK = 16, 0.6
BASE_ENDS, TIP_STARTS = (0.01, 0.60), (0.40, 0.99)
"""Shares within which a setting's base may end and its tip begin."""
FREE = (0.01, 0.99)
LOWEST = 0.5
"""Lowest speed of the first grid, as a share of the least speed of the envelope; later grids may go below it."""
SLACK = 1e-9

Whole = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True, kw_only=True)
class Road:
    """The envelope (k,), shares with speeds [rad/s], the drive, and the angle [rad] the spindle turns in the doff."""

    share: Array
    speed: Array
    drive: Drive
    angle: float

    def most(self, at: Array) -> Array:
        """Highest speed [rad/s] at the shares, any shape."""
        here = np.minimum(np.interp(at, self.share, self.speed), self.drive.most)
        here = np.where(at <= 0.0, np.minimum(here, self.drive.start_most), here)
        return np.where(at >= 1.0, np.minimum(here, self.drive.tip_most), here)

    def line_time(self, start: float, speeds: Array, ends: Array, next_speeds: Array) -> Array:
        """Time [s] of the lines from one share at ``speeds`` (m,) to ``ends`` (n,) at ``next_speeds`` (l,): (m, n, l).

        inf for a line that passes the envelope or that the drive cannot follow; ``ends`` lie beyond ``start``.
        """
        gap = (ends - start)[None, :, None]
        a, b = speeds[:, None, None], next_speeds[None, None, :]
        quickest_rise = self._steepest(start, speeds, ends)[:, :, None]
        allowed = (b <= a + gap * quickest_rise + SLACK * a) & (b <= self.most(ends)[None, :, None] * (1 + SLACK))
        # d(speed)/dt = d(speed)/d(share) x speed / angle, greatest where the line is fastest
        allowed &= np.abs(b - a) * np.maximum(a, b) <= self.drive.ramp * gap * self.angle * (1 + SLACK)
        allowed &= a <= self.most(np.array(start)) * (1 + SLACK)
        rise = (b - a) / a
        mean = np.where(rise == 0, a, (b - a) / np.log1p(np.where(rise == 0, 1.0, rise)))
        return np.where(allowed, gap * self.angle / mean, np.inf)

    def level_time(self, start: float, speeds: Array, ends: Array) -> Array:
        """Time [s] of the level lines from one share at ``speeds`` (m,) to ``ends`` (n,): (m, n), inf where barred."""
        a = speeds[:, None]
        allowed = (self._steepest(start, speeds, ends) >= -SLACK) & (a <= self.most(ends) * (1 + SLACK))
        allowed &= a <= self.most(np.array(start)) * (1 + SLACK)
        return np.where(allowed, (ends - start) * self.angle / a, np.inf)

    def _steepest(self, start: float, speeds: Array, ends: Array) -> Array:
        """Steepest climb per share from each speed that passes no knot before each end: (m, n)."""
        first = int(np.searchsorted(self.share, start, side="right"))
        knots, tops = self.share[first:], np.minimum(self.speed[first:], self.drive.most)
        if not knots.size:
            return np.full((len(speeds), len(ends)), np.inf)
        climbs = np.minimum.accumulate((tops - speeds[:, None]) / (knots - start), axis=1)
        climbs = np.concatenate((np.full((len(speeds), 1), np.inf), climbs), axis=1)
        return np.asarray(climbs[:, np.searchsorted(knots, ends, side="right")], dtype=np.float64)


def drivable(road: Road, course: SpeedCourse) -> bool:
    """Say whether the drive can follow a course under the envelope."""
    steps = pairwise(zip(course.shares, course.speeds, strict=True))
    return min(course.speeds) >= road.drive.least and all(
        np.isfinite(road.line_time(share, np.array([speed]), np.array([end]), np.array([then]))).all()
        for (share, speed), (end, then) in steps
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Corners to choose from: shares (n,) and speeds (m,) of each corner.

    With ``as_setting`` the five corners are a setting's: the second lies half-way to the third, and the third and the
    fourth have one speed. Otherwise any share may follow any before it.
    """

    shares: tuple[Array, ...]
    speeds: tuple[Array, ...]
    as_setting: bool

    def followers(self, corner: int, place: int) -> Whole:
        """Give which shares of the next corner may follow a share of this one."""
        if self.as_setting and corner == 1:
            return np.array([place])
        return np.flatnonzero(self.shares[corner + 1] > self.shares[corner][place] + SLACK)

    def level(self, corner: int) -> bool:
        """Say whether the line from this corner must keep its speed."""
        return self.as_setting and corner == 2


def quickest(road: Road, shares: tuple[float, ...] | None = None) -> SpeedCourse | None:
    """Give the course of least doff time that the drive can follow under the envelope; None if there is none.

    With ``shares`` the corners stand where they are told, for a setting's course those of ``course_as_set``.
    """
    if float(np.min(road.most(road.share))) < road.drive.least * (1 - SLACK):
        return None
    grid = _first_grid(road)
    if shares is not None:
        grid = replace(grid, shares=tuple(np.array([share]) for share in shares))
    found = _best(road, grid)
    if found is None:
        return None
    reach = float(grid.speeds[0][1] - grid.speeds[0][0])
    apart = max((float(places[1] - places[0]) for places in grid.shares if places.size > 1), default=0.0)
    for _ in range(ROUNDS):
        found = _best(road, _finer(road, found, grid, (apart, reach))) or found
        apart, reach = SHRINK * apart, SHRINK * reach
    return found


def _first_grid(road: Road) -> Grid:
    """Give the grid that covers the whole doff and every speed worth driving."""
    drive = road.drive
    top = float(np.max(road.most(road.share)))
    bottom = max(drive.least, LOWEST * float(np.min(road.most(road.share))))
    ends = (np.array([0.0]), np.array([1.0]))
    if drive.corners == 0:
        base = np.linspace(*BASE_ENDS, 60)
        inner: tuple[Array, ...] = (base / 2, base, np.linspace(*TIP_STARTS, 60))
    else:
        inner = tuple(np.linspace(*FREE, 50) for _ in range(drive.corners - 2))
    speeds = np.linspace(bottom, top, SPEEDS if drive.corners == 0 else FREE_SPEEDS)
    shares = (ends[0], *inner, ends[1])
    return Grid(shares=shares, speeds=tuple(speeds for _ in shares), as_setting=drive.corners == 0)


def _finer(road: Road, found: SpeedCourse, grid: Grid, reach: tuple[float, float]) -> Grid:
    """Draw the grid together around a course, to a reach in share and in speed; the course itself stays in it."""
    around, about = np.linspace(-1, 1, FINE_SHARES), np.linspace(-1, 1, FINE_SPEEDS)
    shares = []
    for corner, share in enumerate(found.shares):
        choices = grid.shares[corner]
        places = np.array([share]) if choices.size == 1 else share + reach[0] * around
        shares.append(np.clip(places, choices[0], choices[-1]))
    if grid.as_setting and shares[2].size > 1:
        shares[1] = shares[2] / 2
    speeds = tuple(np.maximum(speed + reach[1] * about, road.drive.least) for speed in found.speeds)
    return Grid(shares=tuple(shares), speeds=speeds, as_setting=grid.as_setting)


def _best(road: Road, grid: Grid) -> SpeedCourse | None:
    """Give the quickest course of a grid, from the last corner back; None if none of them may be driven."""
    last = len(grid.shares) - 1
    rest = np.zeros((grid.shares[last].size, grid.speeds[last].size))
    picks: list[tuple[Whole, Whole]] = []
    for corner in range(last - 1, -1, -1):
        rest, pick = _back(road, grid, corner, rest)
        picks.append(pick)
    place, speed = 0, int(np.argmin(rest[0]))
    if not np.isfinite(rest[place, speed]):
        return None
    shares, speeds = [float(grid.shares[0][place])], [float(grid.speeds[0][speed])]
    for corner, (places, choices) in enumerate(reversed(picks), start=1):
        place, speed = int(places[place, speed]), int(choices[place, speed])
        shares.append(float(grid.shares[corner][place]))
        speeds.append(float(grid.speeds[corner][speed]))
    return SpeedCourse(shares=tuple(shares), speeds=tuple(speeds))


def _back(road: Road, grid: Grid, corner: int, rest: Array) -> tuple[Array, tuple[Whole, Whole]]:
    """Go back one corner: least time to the end from each of its shares and speeds (n, m), and where it goes on."""
    shares, speeds = grid.shares[corner], grid.speeds[corner]
    ahead = grid.speeds[corner + 1]
    least = np.full((shares.size, speeds.size), np.inf)
    next_place, next_speed = (np.zeros(least.shape, dtype=np.intp) for _ in range(2))
    for place, share in enumerate(shares):
        follow = grid.followers(corner, place)
        if not follow.size:
            continue
        ends = grid.shares[corner + 1][follow]
        if grid.level(corner):  # both ends have the same choice of speeds, and the same one of them is taken
            whole = road.level_time(share, speeds, ends) + rest[follow].T
            pick = np.argmin(whole, axis=1)
            next_place[place], next_speed[place] = follow[pick], np.arange(speeds.size)
        else:
            whole = (road.line_time(share, speeds, ends, ahead) + rest[follow]).reshape(speeds.size, -1)
            pick = np.argmin(whole, axis=1)
            next_place[place], next_speed[place] = follow[pick // ahead.size], pick % ahead.size
        least[place] = whole[np.arange(speeds.size), pick]
    return least, (next_place, next_speed)
