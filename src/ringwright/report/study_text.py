"""Answers of studies and trials as plain text and as JSON values."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from ringwright.findings.finding import Answer, Estimate, Finding
from ringwright.study.trial import TrialPlan

__all__ = ["answer_text", "group_text", "plan_of_trial_text", "study_text", "study_values"]

WIDTH = 96
_NUMBERED = ("spindles", "separators", "shifts")
"""Questions whose sentence does not hold the number itself."""


def study_text(
    answers: Sequence[Answer], questions: Mapping[str, str], origin: str, outside: Mapping[str, int], *, more: bool
) -> str:
    """Write the answers under their questions, and first of all what was found."""
    findings = [one for answer in answers for one in answer.findings]
    lines = textwrap.wrap(f"From {origin}.", WIDTH)
    lines += _outside(outside)
    lines += ["", _head(findings), *(line for one in findings for line in _finding(one))]
    for word, question in questions.items():
        here = [answer for answer in answers if answer.question == word]
        if not here:
            continue
        lines += ["", question]
        lines += [line for answer in here for line in answer_text(answer, more=more).splitlines()]
        if not more:
            lines += _wrapped(f"Cannot say: {here[0].cannot_say}", "    ")
    return "\n".join(lines)


def group_text(rates: Sequence[tuple[str, Estimate | None]]) -> str:
    """Write the rate of each mill of a group, by the words of its origin."""
    lines = ["Breaks per 1000 spindle-hours of each mill, all its frames together:"]
    for origin, rate in rates:
        told = "nothing ran" if rate is None else f"{rate.value:.1f} ({rate.low:.1f} to {rate.high:.1f})"
        lines += _wrapped(f"{told}: {origin}", "  ")
    lines += _wrapped(
        "Mills differ in yarn, air and frames, so a difference of two mills is not one of their people or settings.", ""
    )
    return "\n".join(lines)


def _head(findings: Sequence[Finding]) -> str:
    if not findings:
        return "Found: nothing beyond chance."
    return f"Found: {len(findings)} {'thing' if len(findings) == 1 else 'things'}, most sure first in each question."


def _finding(one: Finding) -> list[str]:
    return _wrapped(f"[{one.sureness.value}] {one.sentence}", "  ")


def _outside(outside: Mapping[str, int]) -> list[str]:
    left = {frame: count for frame, count in outside.items() if count}
    if not left:
        return []
    listed = ", ".join(f"{frame} {count}" for frame, count in left.items())
    return _wrapped(f"Breaks that fall in no recorded running time, and are in no answer: {listed}.", "")


def answer_text(answer: Answer, *, more: bool) -> str:
    """Write one answer: its sentence and word, its number; with ``more`` also its data and what it cannot say."""
    lines = _wrapped(f"{answer.sentence} [{answer.sureness.value}]", "  ")
    if answer.estimate and answer.question in _NUMBERED:
        lines += _wrapped(_number(answer.estimate), "    ")
    if more:
        lines += _wrapped(f"Used: {answer.data_used}.", "    ")
        lines += _wrapped(f"Cannot say: {answer.cannot_say}", "    ")
    return "\n".join(lines)


def _number(estimate: Estimate) -> str:
    unit = "" if estimate.unit == "1" else f" {estimate.unit}"
    if estimate.unit == "1":
        return f"{estimate.value:.0%} ({estimate.low:.0%} to {estimate.high:.0%}): {estimate.meaning}."
    step = 0 if estimate.unit == "pairs" else (1 if estimate.value >= 10 else 2)
    value, low, high = (f"{v:.{step}f}" for v in (estimate.value, estimate.low, estimate.high))
    return f"{value}{unit} ({low} to {high}): {estimate.meaning}."


def _wrapped(text: str, indent: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=indent, subsequent_indent=f"{indent}  ", break_on_hyphens=False)


def plan_of_trial_text(plan: TrialPlan) -> str:
    """Write how many shifts a trial needs and what that rests on."""
    spread, change = plan.spread, plan.ratio - 1
    if spread.shifts:
        where = f"measured in {spread.shifts} shifts of {spread.frames} {'frame' if spread.frames == 1 else 'frames'}"
    else:
        where = "as stated"
    after = plan.before_after
    text = [
        f"To see a change of {change:+.0%} in the break rate with a chance of {plan.power:.0%}:",
        f"  side by side, two frames in the same shifts, settings swapped half way: {plan.side_by_side} shifts",
        f"  one after the other, on one frame: {after} shifts with the old setting and {after} with the new",
        "",
        f"Scatter from shift to shift (CV), {where}:",
        f"{spread.common:.0%} that the frames share, {spread.own:.0%} of one frame alone,",
        f"with {spread.breaks:.0f} breaks of a frame in a shift, which scatter by {spread.breaks**-0.5:.0%} by chance.",
        f"Of a hundred trials of a setting that does nothing, {100 * plan.level:.0f} are called likely all the same.",
        "Swap the settings half way, else a difference of the frames is taken for one of the settings.",
    ]
    return "\n".join(text)


def study_values(answers: Sequence[Answer], origin: str, outside: Mapping[str, int]) -> dict[str, Any]:
    """Give the answers as plain values for JSON; pictures are left to the figures."""
    return {
        "origin": origin,
        "outside_running_time": dict(outside),
        "answers": [_answer_values(one) for one in answers],
    }


def _answer_values(answer: Answer) -> dict[str, Any]:
    return {
        "question": answer.question,
        "frame": answer.frame,
        "sentence": answer.sentence,
        "sureness": answer.sureness.value,
        "estimate": None if answer.estimate is None else asdict(answer.estimate),
        "findings": [
            {
                "kind": one.kind, "frame": one.frame, "side": one.side, "spindles": list(one.spindles),
                "shift": one.shift, "sentence": one.sentence, "sureness": one.sureness.value, "p": one.p,
                "estimate": asdict(one.estimate),
            }
            for one in answer.findings
        ],
        "data_used": answer.data_used,
        "cannot_say": answer.cannot_say,
    }  # fmt: skip
