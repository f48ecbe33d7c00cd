"""Every frame of a mill told on a terminal: what to change first, and what it is worth in yarn and money a year."""

from __future__ import annotations

from textwrap import wrap
from typing import Any

from ringwright.improve.better import PartsStudy
from ringwright.improve.survey import Survey, Surveyed, ended_early
from ringwright.improve.worth import worth
from ringwright.judgement import cautions
from ringwright.report.course_text import percent
from ringwright.report.improve_text import COST_NOTE, breaks_note
from ringwright.units import NARROW_SPACE, show_number

__all__ = ["survey_text", "survey_values"]

WIDTH = 96


def survey_text(found: Survey) -> str:
    """Tell each setting's first change and its worth, all changes together, and what to mind; dearest first."""
    mill = found.mill
    lines = [f"{mill.name}: what to change first on each frame, and what it is worth", "=" * WIDTH]
    told = sorted(found.settings, key=lambda one: -_money(one))
    for one in told:
        lines += ["", f"{one.frame}, {one.yarn}", *_setting(one)]
    if found.left:
        names = ", ".join(f"{frame} {yarn}" for frame, yarn in found.left)
        lines += ["", *wrap(f"Ended by hand before: {names}.", WIDTH)]
    lines += ["", "Mind", *_mind(found)]
    return "\n".join(lines).replace(NARROW_SPACE, " ")


def _setting(one: Surveyed) -> list[str]:
    study = one.study
    if study is None:
        return [line for words in one.refused for line in _wrapped(f"Not searched: {words}")]
    lines = _wrapped(f"As set, the parts lack {' and '.join(study.lacking)}.") if study.lacking else []
    if study.singles:
        axis, step = study.singles[0].axis, study.singles[0].step
        mends = "; this alone keeps every limit" if study.lacking else ""
        lines += _wrapped(f"First: {axis.name} {axis.told(axis.present)} to {axis.told(step)}{mends}.")
        lines += _gain("alone", study, first=True)
    else:
        lines.append("  First: no part alone keeps every limit; take all changes together.")
    parts = ", ".join(f"{axis.name} {axis.told(step)}" for axis, step in study.changed) or "none"
    lines += _gain("all changes", study, first=False)
    return lines + _wrapped(f"All changes: {parts}.")


def _gain(name: str, study: PartsStudy, *, first: bool) -> list[str]:
    """Tell what one run gains on the setting: yarn and cost in an hour, and both in a year of the whole frame."""
    before, after = study.as_set, study.first if first else study.best
    if before is None or after is None or before.cost is None or after.cost is None:
        return [f"  {name:<12} worth not told: the setting as it is has no steady balloon throughout"]
    mill = study.question.mill
    gain = worth(before, after, after.choice.frame.spindles, mill.money)
    word = mill.money.currency
    old, new = before.cost.total, after.cost.total
    year = f"{_signed(gain.money, 0):>9} {word} a year {_signed(gain.yarn / 1000, 1):>8} t yarn a year"
    costs = f"cost of 1 kg {show_number(old, 3)} to {show_number(new, 3)} {word} ({percent(new / old - 1)})"
    return [f"  {name:<12}{year}   {costs}"]


def _signed(value: float, decimals: int) -> str:
    text = show_number(value, decimals)
    return f"+{text}" if value > 0 and any(figure in text for figure in "123456789") else text


def _wrapped(words: str) -> list[str]:
    return wrap(words, WIDTH, initial_indent="  ", subsequent_indent="    ")


def _money(one: Surveyed) -> float:
    """Worth of the first change; settings without one stand last."""
    study = one.study
    if study is None or study.as_set is None or study.first is None or study.first.cost is None:
        return float("-inf")
    return worth(study.as_set, study.first, study.first.choice.frame.spindles, study.question.mill.money).money


def _mind(found: Survey) -> list[str]:
    money = found.mill.money
    hours = show_number(money.spinning_time_per_year / 3600, 0)
    how = (
        "what the yarn made now costs less"
        if money.spinning_price_per_kg is None
        else "what the frame earns more at the price for spinning"
    )
    rests = "All figures are computed from [mill.money] and [mill.power]; those of the demo mill are invented."
    notes = [
        f"Money is {how}; a year has {hours} h for the whole frame with this yarn alone. Costs stand above the roving.",
        rests,
        breaks_note(None),
        COST_NOTE,
        "A frame that spins several yarns has one guide and one control ring: look at all its yarns before moving one.",
        "ringwright improve MILL --frame FRAME --yarn YARN --for cost tells one setting whole.",
    ]
    if ended_early(found):
        notes.insert(0, "The search was stopped by hand: what stands above is the best so far.")
    studies = [one.study for one in found.settings if one.study is not None]
    acts = [
        caution.words
        for study in studies[:1]
        for caution in cautions(study.best.choice.frame, study.best.choice.yarn)
        if caution.work.startswith(("changing trav", "setting con"))
    ]
    return [line for note in (*notes, *acts) if note for line in _wrapped(note)]


def survey_values(found: Survey) -> dict[str, Any]:
    """Give the survey as plain values for JSON, SI where a key ends in a unit."""
    return {
        "mill": found.mill.name,
        "origin": "computed",
        "currency": found.mill.money.currency,
        "settings": [_values(one) for one in found.settings],
        "not_searched": [{"frame": frame, "yarn": yarn} for frame, yarn in found.left],
    }


def _values(one: Surveyed) -> dict[str, Any]:
    study = one.study
    if study is None:
        return {"frame": one.frame, "yarn": one.yarn, "refused": list(one.refused)}
    single = study.singles[0] if study.singles else None
    named = {
        "part": single.axis.key,
        "from": single.axis.steps[single.axis.present],
        "to": single.axis.steps[single.step],
    } if single is not None else None  # fmt: skip
    return {
        "frame": one.frame,
        "yarn": one.yarn,
        "lacking_as_set": list(study.lacking),
        "first": named,
        "first_alone": _worth_values(study, first=True),
        "all_changes": _worth_values(study, first=False),
        "ended_because": study.found.ended,
    }


def _worth_values(study: PartsStudy, *, first: bool) -> dict[str, float] | None:
    before, after = study.as_set, study.first if first else study.best
    if before is None or after is None or before.cost is None or after.cost is None:
        return None
    gain = worth(before, after, after.choice.frame.spindles, study.question.mill.money)
    return {
        "money_per_year": gain.money,
        "yarn_kg_per_year": gain.yarn,
        "cost_per_kg_as_set": before.cost.total,
        "cost_per_kg": after.cost.total,
    }
