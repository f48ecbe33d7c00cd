"""What must be said of a creel as it is set: brake outside its band, roving near slipping, measures that contradict."""

from __future__ import annotations

from typing import Final

from ringwright.creel.unwound import Unwound
from ringwright.creel.week import Week
from ringwright.units import NARROW_SPACE, show

__all__ = ["answer", "brake_words", "card_words", "hands_words", "warnings_of"]

USUAL_DENSITY: Final = (150.0, 450.0)
"""Density of wound roving [kg/m3] outside which bobbin mass and measures are doubted (our assumption)."""


def torque(value: float) -> str:
    """Write a torque with its unit, to a hundredth of mN m below ten."""
    return show(value, "torque", "mN m", 2 if value < 0.01 else 1)


def brake_words(found: Unwound) -> str:
    """Say in one sentence how the brake stands to its band."""
    band, brake = found.band, torque(found.brake)
    if band.highest is None:
        return f"Even without a brake the roving is drawn too far ({band.highest_by}); the creel does not suit it."
    span = f"{torque(band.lowest)} to {torque(band.highest)}"
    if band.empty:
        return (
            f"No brake suits this roving: {band.lowest_by} asks for at least {torque(band.lowest)}, {band.highest_by} "
            f"allows at most {torque(band.highest)}."
        )
    if band.holds(found.brake):
        return f"The brake of {brake} lies in its band, {span}."
    if found.brake > band.highest:
        return (
            f"The brake of {brake} is {torque(found.brake - band.highest)} over its band, {span} ({band.highest_by})."
        )
    return f"The brake of {brake} is {torque(band.lowest - found.brake)} under its band, {span} ({band.lowest_by})."


def warnings_of(found: Unwound) -> tuple[str, ...]:
    """List what is outside a limit or a model's range."""
    creel, told = found.supply.frame.creel, []
    if not found.band.holds(found.brake):
        told.append(brake_words(found))
    if found.highest.max() >= found.cohesion:
        told.append(
            "The roving slips apart: the highest tension passes what the strand bears on average, "
            f"{show(found.cohesion, 'force', 'cN', 0)}."
        )
    elif found.false_draft > creel.cohesion_share:
        told.append(
            f"False draft: the highest tension, {show(float(found.highest.max()), 'force', 'cN', 1)}, is "
            f"{show(found.false_draft, 'share', '%', 0)} of what a weak place bears; "
            f"{show(creel.cohesion_share, 'share', '%', 0)} is allowed."
        )
    if not USUAL_DENSITY[0] <= found.package_density <= USUAL_DENSITY[1]:
        low, high = (show(end, "density", "g/cm3", 2) for end in USUAL_DENSITY)
        told.append(
            "Bobbin mass, diameters and traverse make a density of "
            f"{show(found.package_density, 'density', 'g/cm3', 2)}; {low} to {high} is usual (assumed), "
            "so one of them is likely wrong."
        )
    return tuple(told)


def hands_words(found: Week) -> str:
    """Say in one sentence where and when hands run out first, or that they do not."""
    hands = int(found.creeling.creelers)
    who = f"{hands} creeler" + ("s" if hands > 1 else "")
    need = f"{found.need:.2f} hands are needed on average"
    if not found.first_frame:
        return f"With {who} no bobbin runs empty in the week; {need}."
    empty, short = (sum(getattr(one, key) for one in found.frames) for key in ("empty", "short"))
    stood = sum(one.stood for one in found.frames)
    day, hour = divmod(found.first_empty / 3600, 24)
    return (
        f"With {who} bobbins first run empty on {found.first_frame}, on day {int(day) + 1} at hour {hour:.0f}: "
        f"{empty} in the week, {empty - short} of them as their turn came late and {short} as they held less than "
        f"reckoned; {show(stood, 'time', 'h', 1)} of standing spindles. {need[:1].upper()}{need[1:]}{_full(found)}."
    )


def _full(found: Week) -> str:
    """Name the shifts in which the hands were fully taken, where there are any."""
    full = found.full_shifts
    if not full:
        return ", and in no shift were they fully taken"
    return f"; they were fully taken in shift{'s' if len(full) > 1 else ''} {', '.join(str(one) for one in full)}"


def answer(found: Unwound, run: Week | None) -> str:
    """Say first what the person should know."""
    return brake_words(found) + (f" {hands_words(run)}" if run else "")


def card_words(found: Unwound, groups: tuple[int, int]) -> str:
    """Write the line of the card: the brake with its band, and how many bobbins are renewed at each doff."""
    band, (bobbins, _) = found.band, groups
    if band.empty or band.highest is None:
        span = "no brake suits"
    else:
        word = "band" if band.lowest <= found.brake <= band.highest else "outside"
        span = f"{word} {torque(band.lowest).partition(NARROW_SPACE)[0]} to {torque(band.highest)}"
    return f"Creel brake {torque(found.brake)} ({span}), {bobbins} bobbins a doff"
