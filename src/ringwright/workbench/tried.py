"""A setting as tried: from the words of an address to a mill and a trial that every verb understands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from ringwright.mill import Frame, Mill
from ringwright.mill.field import read_value, stated
from ringwright.mill.frame import ControlRing, Guide
from ringwright.mill.frame_rules import FRAME_RULES
from ringwright.mill.rule import breaches
from ringwright.mill.table import Table, number_at
from ringwright.refusal import Fault, Refusal
from ringwright.setting.choice import Choice, Trial, choose
from ringwright.units import from_unit, in_unit, parse
from ringwright.verbs import app
from ringwright.workbench.field import FIELDS, SWITCHES, Field

__all__ = ["Choice", "Key", "Tried", "nearby", "read_tried", "with_value"]

_TABLES: dict[str, type[Table]] = {"guide": Guide, "control_ring": ControlRing}
# What ``choose`` calls the fields.
_CALLED = {"traveller mass": "traveller", "main speed": "speed", "ring friction": "friction"}

Key = tuple[object, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """What is tried: a mill (its frame changed where asked), names, the trial and the choice they make.

    ``as_read`` is the mill as it stood in the files when the trial was read, which tells apart what is worked out.
    ``faults`` are told by the field they belong to, "" for none; where there are any the choice is None.
    ``words`` are the fields as they were typed, ``values`` those of them that are quantities, in SI.
    """

    mill: Mill
    as_read: Mill
    frame: str
    yarn: str
    trial: Trial
    choice: Choice | None
    words: Mapping[str, str]
    values: Mapping[str, float]
    faults: Mapping[str, tuple[Fault, ...]] = field(default_factory=dict)

    @property
    def refusal(self) -> Refusal | None:
        """All faults together, or None."""
        found = [fault for faults in self.faults.values() for fault in faults]
        return Refusal(found) if found else None

    @property
    def banded(self) -> bool:
        """Whether the answer has an interval over ring friction: not where one friction is tried."""
        return "friction" not in self.values

    @property
    def key(self) -> Key:
        """What tells two trials of one state of the mill's files apart."""
        values = tuple(sorted((key, float(f"{value:.10g}")) for key, value in self.values.items()))
        return (self.frame, self.yarn, values, self.trial.guide_fixed, self.trial.control_ring)


def read_tried(mill: Mill, frame: str, yarn: str, words: Mapping[str, str]) -> Tried:
    """Read what is tried of a frame and yarn; words of no field are left alone, an empty word counts as not given.

    A value that is the mill's own is not a trial. Raises Refusal for an unknown frame, yarn or setting; a value that
    cannot be used is told in ``faults``.
    """
    as_set = choose(mill, frame, yarn)
    given = {key: word.strip() for key, word in words.items() if word.strip() and key in _KEYS}
    faults: dict[str, list[Fault]] = {}
    values = _values(given, faults)
    for one in FIELDS:
        usual = one.value(as_set)
        if one.key in values and (usual is None or abs(values[one.key] - usual) <= 1e-9 * abs(usual)):
            del values[one.key], given[one.key]
    return _tried(mill, as_set, given, values, faults)


def with_value(mill: Mill, tried: Tried, key: str, value: float) -> Tried:
    """Give a trial with one of its quantities (SI) in place of what stands there."""
    as_set = choose(mill, tried.frame, tried.yarn)
    return _tried(mill, as_set, tried.words, {**tried.values, key: value}, {})


def nearby(mill: Mill, tried: Tried, moved: str, reach: int) -> list[Tried]:
    """Give the trials up to so many slider steps away on either side of one, as far as they can be used."""
    as_set = choose(mill, tried.frame, tried.yarn)
    one = next((one for one in FIELDS if one.key == moved), None)
    here = None if one is None else tried.values.get(moved, one.value(as_set))
    if one is None or here is None:
        return []
    low, high, step = one.span(as_set)
    number = in_unit(here, one.quantity, one.unit)
    found = []
    for k in range(-reach, reach + 1):
        next_number = round((number + k * step) / step) * step
        if k and low <= next_number <= high:
            values = {**tried.values, moved: from_unit(next_number, one.quantity, one.unit)}
            found.append(_tried(mill, as_set, tried.words, values, {}))
    return [one for one in found if one.choice is not None]


def _tried(
    mill: Mill,
    as_set: Choice,
    given: Mapping[str, str],
    values: Mapping[str, float],
    faults: dict[str, list[Fault]],
) -> Tried:
    frame, yarn = as_set.frame.name, as_set.yarn.name
    changed = _frame_as_tried(as_set.frame, values, faults)
    trial = Trial(
        guide_fixed={"fixed": True, "travels": False}.get(given.get("guide", "")),
        control_ring=given.get("control_ring") != "none",
        traveller_mass=values.get("traveller"),
        main_speed=values.get("speed"),
        ring_friction=values.get("friction"),
    )
    tried_mill = mill if changed is as_set.frame else mill.model_copy(update={"frames": mill.frames | {frame: changed}})
    choice = None
    try:
        choice = choose(tried_mill, frame, yarn, trial)
    except Refusal as refusal:
        for fault in refusal.faults:
            faults.setdefault(_CALLED.get(fault.where, ""), []).append(fault)
    return Tried(
        mill=tried_mill,
        as_read=mill,
        frame=frame,
        yarn=yarn,
        trial=trial,
        choice=None if faults else choice,
        words=given,
        values=values,
        faults={key: tuple(found) for key, found in faults.items()},
    )


_KEYS = {one.key for one in FIELDS} | {one.key for one in SWITCHES}


def _values(given: Mapping[str, str], faults: dict[str, list[Fault]]) -> dict[str, float]:
    """Read every field that can be read into SI; traveller and speed as the command line reads its options."""
    values = {}
    for one in FIELDS:
        if one.key not in given:
            continue
        try:
            values[one.key] = _value(one, given[one.key])
        except Refusal as refusal:
            faults[one.key] = [
                Fault(where=one.name, got=fault.got, wants=fault.wants, mend=fault.mend) for fault in refusal.faults
            ]
    for switch in SWITCHES:
        if given.get(switch.key, switch.words[0]) not in switch.words:
            wants = f"{switch.words[0]} or {switch.words[1]}"
            faults[switch.key] = [Fault(where=switch.name, got=f'"{given[switch.key]}"', wants=wants)]
    return values


def _value(one: Field, word: str) -> float:
    value: float | None = None
    if one.key == "traveller":
        value = app.trial(traveller=word).traveller_mass
    elif one.key == "speed":
        value = app.trial(speed=word).main_speed
    elif one.key == "friction":
        value = parse(word, one.quantity, one.name)
    else:
        part, name = one.of.split(".")
        value = read_value(word, stated(_TABLES[part], name), written=True)
    assert value is not None  # noqa: S101 - a word was given
    return value


def _frame_as_tried(frame: Frame, values: Mapping[str, float], faults: dict[str, list[Fault]]) -> Frame:
    """Change the frame's own measures, and hold it against the rules that every frame file is held against."""
    parts: dict[str, dict[str, float]] = {}
    for one in FIELDS:
        part, _, name = one.of.partition(".")
        if part in _TABLES and one.key in values and getattr(frame, part) is not None:
            parts.setdefault(part, {})[name] = values[one.key]
    if not parts:
        return frame
    changes = {part: getattr(frame, part).model_copy(update=update) for part, update in parts.items()}
    changed = frame.model_copy(update=changes)
    keys = {one.of: one for one in FIELDS if one.of}
    for fault in breaches(FRAME_RULES, lambda key: number_at(changed, key)):
        held = keys.get(fault.where)
        faults.setdefault(held.key if held else "", []).append(
            Fault(where=held.name if held else fault.where, got=fault.got, wants=fault.wants, mend=fault.mend)
        )
    return changed
