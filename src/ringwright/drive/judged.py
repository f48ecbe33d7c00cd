"""What the drive's numbers say, in sentences."""

from __future__ import annotations

import numpy as np

from ringwright.drive.layout import group_word
from ringwright.drive.whole import DriveTold
from ringwright.units import show, show_number

__all__ = ["answer", "compare_words", "notes_of", "read_notes", "warnings_of", "wharve_words"]

KWH = 3.6e6
LONGEST = 60
"""Rows set aside that are told one by one."""


def _percent(share: float, decimals: int = 2) -> str:
    return f"{show_number(100 * share, decimals)} %"


def answer(told: DriveTold) -> str:
    """Say first what the readings name, if there are any, then how the drive spreads the twist, and the slip margin."""
    spread, driven = told.spread, told.driven
    said = []
    if told.read is not None:
        said.append(told.read.study.answer.sentence)
    allowed = _percent(spread.allowance, 1)
    if not driven.runs:
        said.append(
            f"Each spindle of {told.frame.name} has its own motor; their control spreads twist by "
            f"{_percent(spread.deviation)} (SD), against {allowed} allowed either way."
        )
        return " ".join(said)
    said.append(
        f"By the model twist runs from {_percent(spread.lowest)} to {_percent(spread.highest)} along the "
        f"{group_word(told.frame)}, {_percent(spread.deviation)} (SD) with what differs from part to part; "
        f"{allowed} is allowed either way."
    )
    least, margin = told.frame.drive.wharves.slip_margin, told.least_margin
    if margin < 1:
        slow = int(np.sum(driven.margin < 1))
        said.append(f"{slow} of {told.frame.spindles} wharves slip: friction cannot give the pull they want.")
    elif told.read is None or margin < least:
        held = "which keeps" if margin >= least else "less than"
        said.append(
            f"Friction at the wharves could give at least {show_number(margin, 2)} times the pull they take, {held} "
            f"the {show_number(least, 2)} wanted."
        )
    return " ".join(said)


def wharve_words(told: DriveTold) -> str:
    """Say whether a smaller wharve saves energy, and where it comes too near to slipping."""
    if not told.driven.runs:
        return "Single-spindle motors have no wharve to choose."
    saving = 1e3 * told.saving / KWH
    if not np.isfinite(saving):
        first = "Wharves near this one cannot give the pull."
    elif saving > 0:
        first = (
            f"A wharve smaller by {show(1e-3, 'length', 'mm', 0)} saves {show_number(saving, 1)} Wh/kg: the belt runs "
            f"slower past its rollers at the same spindle speed."
        )
    else:
        first = (
            f"A wharve smaller by {show(1e-3, 'length', 'mm', 0)} costs {show_number(-saving, 1)} Wh/kg more: the "
            f"{group_word(told.frame)} bends round it more sharply than the slower run saves."
        )
    ends = []
    least = show_number(told.frame.drive.wharves.slip_margin, 2)
    if told.margin_at is not None and told.slips_at is not None and told.margin_at - told.slips_at < 5e-5:
        ends.append(
            f"under {show(told.slips_at, 'length', 'mm', 1)} the {group_word(told.frame)} slips on its drum or goes "
            "slack"
        )
    elif told.margin_at is not None:
        ends.append(f"under {show(told.margin_at, 'length', 'mm', 1)} the pull in hand falls below {least} times")
    if told.slips_at is not None and not ends[1:] and "drum" not in "".join(ends):
        ends.append(f"under {show(told.slips_at, 'length', 'mm', 1)} the wharves slip")
    second = f"{'; '.join(ends)}." if ends else f"down to {show(6e-3, 'length', 'mm', 0)} the wharves do not slip."
    return f"{first} {second[0].upper()}{second[1:]}"


def compare_words(told: DriveTold, other: DriveTold) -> str:
    """Say what the drive of one frame does to twist and energy against that of another, yarn and wanted twist alike."""
    a, b = told.spread, other.spread
    wide = told if a.deviation > b.deviation else other
    energy = 1e3 * (told.driven.drive_energy - other.driven.drive_energy) / KWH
    return (
        f"Against {other.frame.name} ({other.frame.drive.kind}) with the same yarn: twist spreads by "
        f"{_percent(a.deviation)} and {_percent(b.deviation)} (SD), more on {wide.frame.name}; {_kind(told)}, "
        f"{_kind(other)}. The drive itself takes {show_number(1e3 * told.driven.drive_energy / KWH, 0)} and "
        f"{show_number(1e3 * other.driven.drive_energy / KWH, 0)} Wh/kg, "
        f"{show_number(abs(energy), 0)} {'more' if energy > 0 else 'less'} on {told.frame.name}."
    )


def _kind(told: DriveTold) -> str:
    spread = told.spread
    if spread.along > spread.by_chance:
        return f"on {told.frame.name} mostly along the {group_word(told.frame)}"
    return f"on {told.frame.name} mostly from part to part ({max(spread.chance, key=lambda k: spread.chance[k])})"


def warnings_of(told: DriveTold) -> tuple[str, ...]:
    """Say what lies outside an allowance or makes the model doubtful."""
    driven, spread, frame = told.driven, told.spread, told.frame
    found = []
    if max(-spread.lowest, spread.highest) > spread.allowance:
        found.append(
            f"Along the {group_word(frame)} alone twist leaves the {_percent(spread.allowance, 1)} allowed: spindle "
            f"{spread.lowest_at} has {_percent(spread.lowest)}, spindle {spread.highest_at} {_percent(spread.highest)}."
        )
    if spread.beyond >= 1:
        found.append(
            f"Some {show_number(spread.beyond, 0)} of {frame.spindles} spindles are expected outside the allowance on "
            "twist."
        )
    if driven.runs and told.least_margin < frame.drive.wharves.slip_margin:
        found.append(
            f"The least pull in hand at a wharve is {show_number(told.least_margin, 2)} times; the frame wants "
            f"{show_number(frame.drive.wharves.slip_margin, 2)}. Dirt, damp and the start of the frame take more."
        )
    if driven.runs and driven.bolster == 0:
        found.append(
            "The belt alone is found to take more than the mill's figure for bare spindle and drive together, so one "
            "of the two is wrong; the bolster is left out."
        )
    if np.isfinite(told.by_wheels) and abs(told.by_wheels / told.twist - 1) > spread.allowance / 2:
        found.append(
            f"Twist wheels reckoned with the slip that the mill states ({_percent(frame.drive.slip, 1)}) would give "
            f"{show(told.by_wheels, 'twist', 't/m', 0)} in place of {show(told.twist, 'twist', 't/m', 0)}: read the "
            f"spindles and put the measured slip into the mill's file."
        )
    return tuple(found)


def read_notes(told: DriveTold) -> tuple[str, ...]:
    """Say how the readings lie against the model, and what of them was left out."""
    if told.read is None:
        return ()
    study, read = told.read.study, told.read
    aside = read.round.set_aside
    said = [f"Readings: {read.source}; {study.answer.data_used} used, {len(aside)} rows set aside."]
    said += [f'Set aside: {one.reason} As written: "{one.text[:80]}".' for one in aside[:LONGEST]]
    said += [f"And {len(aside) - LONGEST} more rows set aside, of the same file."] if len(aside) > LONGEST else []
    if np.isfinite(study.offset):
        said.append(
            f"The readings lie {_percent(study.offset)} from the model's mean; that blames no spindle. One spindle "
            f"scatters by {_percent(study.spread)} (SD, robust)."
        )
    if np.isfinite(study.slope[0]):
        value, low, high = (show_number(one, 2) for one in study.slope)
        said.append(f"Along the belt the readings fall {value} times as the model does ({low} to {high}).")
    if study.fast:
        shown = ", ".join(str(k) for k in study.fast[:8])
        said.append(f"Fast beyond chance, so read again or measure the wharve: {shown}.")
    planted = (read.planted,) if read.planted else ()
    return (*said, *study.remarks, *read.round.notes, *planted, study.answer.cannot_say)


def notes_of(told: DriveTold) -> tuple[str, ...]:
    """Say what the model leaves out, and what it says of noise."""
    if not told.driven.runs:
        return (
            "No belt is lost in, and none is computed; losses of the small motors stand in the mill's efficiency.",
            _NOISE,
        )
    return (
        wharve_words(told),
        _LEFT_OUT,
        _ASSUMED,
        _NOISE,
    )


_LEFT_OUT = (
    "The main speed is held: starting the frame takes more pull, and none of it is computed. Windage of drums and "
    "belt, and the shear of a soft cover, are left out."
)
_ASSUMED = (
    "Friction, rollers, bending and the spread from part to part are the mill's or assumed; the reference of mill keys "
    "says which. Change them with your own readings before you trust a difference of a few Wh/kg."
)
_NOISE = (
    "Noise is not computed, since no source gives a figure to build on. A slower, well centred belt or tape with sound "
    "rollers is usually the quieter one (common practice, no source)."
)
