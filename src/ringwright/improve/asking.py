"""Questions as people write them: speeds of the drive, limits tried, a production."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace
from typing import Any

import numpy as np

from ringwright.improve.better import Question
from ringwright.improve.drive import RPM, Drive
from ringwright.improve.parts import Reach
from ringwright.improve.search import MOST
from ringwright.judgement.stated import CONTROL_RING_HEAT, HEAT, SPEED, SPINDLE_RULE, STRENGTH, WINDING
from ringwright.mill import Limit, Mill
from ringwright.refusal import Fault, Refusal, nearest
from ringwright.setting.choice import Trial
from ringwright.units import parse

__all__ = ["drive_of", "question_of", "with_limits", "with_reach"]

_QUANTITIES = {
    STRENGTH.key: "share",
    WINDING.key: "share",
    SPEED.key: "speed",
    HEAT.key: "power",
    CONTROL_RING_HEAT.key: "power",
    SPINDLE_RULE.key: "rotation",
    "separator_room": "length",
}


def drive_of(
    *,
    ramp: float | None = None,
    least: str | None = None,
    most: str | None = None,
    start_most: str | None = None,
    tip_most: str | None = None,
    steps: int | None = None,
) -> Drive:
    """Read what a drive can do; ``ramp`` in rpm per second, the speeds as "14 000 rpm"; Refusal with every fault."""
    faults: list[Fault] = []

    def speed(given: str | None, where: str, default: float) -> float:
        if given is None:
            return default
        try:
            return parse(given, "rotation", where)
        except Refusal as refusal:
            faults.extend(refusal.faults)
            return default

    usual = Drive()
    speeds = {
        "least": speed(least, "--least", usual.least),
        "most": speed(most, "--most", usual.most),
        "start_most": speed(start_most, "--start-most", np.inf),
        "tip_most": speed(tip_most, "--tip-most", np.inf),
    }
    if faults:
        raise Refusal(faults)
    return Drive(ramp=usual.ramp if ramp is None else ramp * RPM, corners=0 if steps is None else steps, **speeds)


def with_limits(mill: Mill, tried: Sequence[str]) -> Mill:
    """Put limits tried, written as "traveller_heat=10 W", in place of the mill's own."""
    limits, faults = dict(mill.limits), []
    for text in tried:
        name, sign, value = (part.strip() for part in text.partition("="))
        if not sign or name not in _QUANTITIES:
            wants = f"NAME=VALUE with a name among {', '.join(_QUANTITIES)}"
            mend = nearest(name, _QUANTITIES)
            faults.append(Fault(where="--limit", got=f'"{text}"', wants=wants, mend=mend))
            continue
        try:
            number = parse(value, _QUANTITIES[name], f"--limit {name}")
        except Refusal as refusal:
            faults += refusal.faults
            continue
        if not number > 0:
            faults.append(Fault(where=f"--limit {name}", got=f'"{value}"', wants="more than 0"))
            continue
        source = "assumed: tried in place of the mill's own"
        limits[name] = Limit(name=name, value=number, source=source, owner="whoever asked")
    if faults:
        raise Refusal(faults)
    return mill.model_copy(update={"limits": limits})


def with_reach(reach: Reach, asked: Sequence[str]) -> Reach:
    """Set how far parts may be moved from where they are, written as "guide-height=-10 to 15 mm"; steps stay.

    Raises Refusal with every fault: a part that has no reach to set, ends that are no lengths or leave the present out.
    """
    lengths = [field.name for field in fields(reach) if field.name != "traveller"]
    names = {name.replace("_", "-"): name for name in lengths}
    found, faults = reach, []
    for text in asked:
        name, sign, span = (part.strip() for part in text.partition("="))
        low, to, high = (part.strip() for part in span.partition(" to "))
        if not sign or name not in names or not to:
            wants = f"PART=LOW to HIGH with a part among {', '.join(names)}, as guide-height=-10 to 15 mm"
            faults.append(Fault(where="--reach", got=f'"{text}"', wants=wants, mend=nearest(name, names)))
            continue
        unit = high.lstrip("+-0123456789.eE ").strip()
        bare = not any(letter.isalpha() for letter in low)
        try:
            ends = [parse(end, "length", f"--reach {name}") for end in (f"{low} {unit}" if bare else low, high)]
        except Refusal as refusal:
            faults += refusal.faults
            continue
        if not ends[0] <= 0 <= ends[1]:
            wants = "from a value at or below 0 to one at or above it, counted from where the part is"
            faults.append(Fault(where=f"--reach {name}", got=f'"{span}"', wants=wants))
            continue
        step = (getattr(found, names[name]) or getattr(Reach(), names[name]))[2]
        changed: dict[str, Any] = {names[name]: (ends[0], ends[1], step)}
        found = replace(found, **changed)
    if faults:
        raise Refusal(faults)
    return found


def question_of(
    mill: Mill,
    frame: str,
    yarn: str,
    *,
    aim: str,
    keep: Sequence[str] = (),
    limits: Sequence[str] = (),
    **asked: Any,  # noqa: ANN401 - production, candidates and ring_friction as typed
) -> Question:
    """Make a question from values as people write them: production as "22 g/h", limits as "traveller_heat=10 W"."""
    production, candidates = asked.get("production"), asked.get("candidates")
    if production is not None and aim != "tension":
        wants = "left out, or asked for with --for tension"
        raise Refusal(Fault(where="--production", got=f'"{production}" with --for {aim}', wants=wants))
    if candidates is not None and candidates < 1:
        raise Refusal(Fault(where="--candidates", got=str(candidates), wants="at least 1"))
    return Question(
        mill=with_limits(mill, limits),
        frame=frame,
        yarn=yarn,
        aim=aim,
        trial=Trial(ring_friction=asked.get("ring_friction")),
        reach=with_reach(Reach(), asked.get("reach") or ()).keeping(tuple(keep)),
        production=None if production is None else parse(production, "output", "--production"),
        most=MOST if candidates is None else candidates,
    )
