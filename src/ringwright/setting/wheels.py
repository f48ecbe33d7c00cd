"""The change wheels of a frame for a yarn: the nearest that the mill has, its neighbours, and the error they leave."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import pi
from typing import Final, Literal

from ringwright.mill import Frame, Gearing, Train
from ringwright.physics import gearing
from ringwright.physics.contraction import machine_twist
from ringwright.physics.draft import linear_density_after, main_draft
from ringwright.physics.production import production_rate
from ringwright.physics.twist import twist_multiplier
from ringwright.refusal import Fault, Refusal
from ringwright.setting.figure import Figure, computed, from_mill

__all__ = ["AsGeared", "WheelOption", "WheelPlan", "Wheels", "Wish", "choose_wheels", "trains_of"]

_TRAIN_SOURCES: Final = ("ring-frame-laboratory",)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What the wheels are to give, SI: roving and yarn count [kg/m], drafts [1], twist [turns/m], contraction [1]."""

    roving_count: float
    yarn_count: float
    total_draft: float
    break_draft: float
    twist: float
    contraction: float

    @property
    def delivered_twist(self) -> float:
        """Turns inserted in each metre that the front rollers deliver [turns/m]."""
        return machine_twist(self.twist, self.contraction)


@dataclass(frozen=True, slots=True, kw_only=True)
class WheelOption:
    """One change wheel: its teeth, what the train gives, and what that makes of the yarn or the break draft.

    ``makes`` is the yarn's count, its twist, or the break draft; ``error`` is its error as a share of what is wanted,
    ``difference`` the same in the unit of ``makes``.
    """

    teeth: Figure
    gives: Figure
    makes: Figure
    error: Figure
    difference: Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class WheelPlan:
    """The wheel nearest to what a train must give, the next smaller and larger ones, and the teeth wanted exactly."""

    name: str
    wanted: Figure
    exact_teeth: Figure
    smaller: WheelOption | None
    best: WheelOption
    larger: WheelOption | None


@dataclass(frozen=True, slots=True, kw_only=True)
class AsGeared:
    """What the frame really does with the three best wheels together; production as a change of what is planned."""

    count: Figure
    twist: Figure
    multiplier: Figure
    total_draft: Figure
    break_draft: Figure
    main_draft: Figure
    production_change: Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class Wheels:
    """The three trains of a frame with their wheels, the slip reckoned with, and the yarn that they give together."""

    total_draft: WheelPlan
    break_draft: WheelPlan
    twist: WheelPlan
    slip: Figure
    as_geared: AsGeared


def trains_of(frame: Frame) -> dict[str, gearing.Train]:
    """Give the frame's trains as physics: total draft [1], break draft [1], turns to a metre delivered [turns/m].

    The mill writes the break draft's train from the middle roller to the back one, so it is taken the other way round.
    The twist's train goes on from the drum over the wharve to the spindle, with the slip taken off. Refusal for a frame
    whose drafts are set electronically.
    """
    drafting, trains = frame.drafting, _gearing(frame)
    front, middle, back = drafting.front_roller_diameter, drafting.middle_roller_diameter, drafting.back_roller_diameter
    turns = trains.twist.fixed_ratio * frame.spindle_turns_per_drum_turn
    return {
        "total draft": _train(trains.total_draft, trains.total_draft.fixed_ratio * front / back),
        "break draft": _train(trains.break_draft, middle / back / trains.break_draft.fixed_ratio, backwards=True),
        "twist": _train(trains.twist, turns / (pi * front)),
    }


def _gearing(frame: Frame) -> Gearing:
    """Give the frame's gearing; Refusal where it has none."""
    if frame.drafting.gearing is None:
        wants = "with its trains of wheels"
        got = "set electronically"
        raise Refusal(Fault(where=f"frame.{frame.name}.drafting.gearing", got=got, wants=wants))
    return frame.drafting.gearing


def choose_wheels(frame: Frame, wish: Wish) -> Wheels:
    """Choose for each train the wheel that comes nearest, by relative error of what the train gives.

    The contraction is that of the planned twist for every wheel: between neighbouring wheels it moves by less than
    0.1 %, far less than its formula is good for. Raises Refusal with every target that the gearing cannot reach, each
    with the range that it can.
    """
    choices = _choices(frame, wish)
    total = _plan(choices["total draft"], "total draft", _total_draft(wish))
    broken = _plan(choices["break draft"], "break draft", _break_draft(frame, wish))
    turns = _plan(choices["twist"], "twist", _twist(wish))
    return Wheels(
        total_draft=total,
        break_draft=broken,
        twist=turns,
        slip=from_mill(frame, "drive.slip", "share", "%"),
        as_geared=_as_geared(total.best, broken.best, turns.best, wish),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Meaning:
    """What a train's value means: the figure wanted of it, what is made of its value, and in which unit."""

    wanted: Figure
    makes: Callable[[float], float]
    quantity: str
    unit: str
    sources: tuple[str, ...] = ()


def _total_draft(wish: Wish) -> _Meaning:
    return _Meaning(
        wanted=computed(wish.total_draft, "ratio", "", "Lord-2003"),
        makes=lambda draft: linear_density_after(wish.roving_count, draft, wish.contraction),
        quantity="count",
        unit="tex",
        sources=("Lord-2003",),
    )


def _break_draft(frame: Frame, wish: Wish) -> _Meaning:
    wanted = from_mill(frame, "drafting.break_draft", "ratio", "")
    return _Meaning(wanted=replace(wanted, value=wish.break_draft), makes=float, quantity="ratio", unit="")


def _twist(wish: Wish) -> _Meaning:
    return _Meaning(
        wanted=computed(wish.delivered_twist, "twist", "t/m", "study-cards"),
        makes=lambda turns: turns / (1 - wish.contraction),
        quantity="twist",
        unit="t/m",
        sources=("study-cards",),
    )


def _plan(choice: gearing.WheelChoice, name: str, meaning: _Meaning) -> WheelPlan:
    return WheelPlan(
        name=name,
        wanted=meaning.wanted,
        exact_teeth=computed(choice.exact_teeth, "ratio", "teeth"),
        smaller=_option(choice.smaller, meaning) if choice.smaller else None,
        best=_option(choice.best, meaning),
        larger=_option(choice.larger, meaning) if choice.larger else None,
    )


def _option(option: gearing.Option, meaning: _Meaning) -> WheelOption:
    makes, wanted = meaning.makes(option.value), meaning.makes(meaning.wanted.value)
    return WheelOption(
        teeth=computed(option.teeth, "ratio", "teeth"),
        gives=computed(option.value, meaning.wanted.quantity, meaning.wanted.unit, *_TRAIN_SOURCES),
        makes=computed(makes, meaning.quantity, meaning.unit, *meaning.sources),
        error=computed(makes / wanted - 1, "share", "%"),
        difference=computed(makes - wanted, meaning.quantity, meaning.unit),
    )


def _as_geared(total: WheelOption, broken: WheelOption, turns: WheelOption, wish: Wish) -> AsGeared:
    count, twist = total.makes.value, turns.makes.value
    change = production_rate(1.0, twist, count) / production_rate(1.0, wish.twist, wish.yarn_count) - 1
    main = main_draft(total.gives.value, broken.gives.value)
    return AsGeared(
        count=total.makes,
        twist=turns.makes,
        multiplier=computed(twist_multiplier(twist, count), "twist multiplier", "TM", "twist-notes"),
        total_draft=total.gives,
        break_draft=broken.gives,
        main_draft=computed(main, "ratio", "", *_TRAIN_SOURCES),
        production_change=computed(change, "share", "%", "study-cards"),
    )


def _train(train: Train, factor: float, *, backwards: bool = False) -> gearing.Train:
    """Turn a train of the mill into one of physics; the change wheel starts as the smallest that the mill has."""
    teeth = [[train.wheels[0] if isinstance(wheel, str) else wheel for wheel in pair] for pair in train.pairs]
    pairs = tuple((driven, driver) if backwards else (driver, driven) for driver, driven in teeth)
    side: Literal["driver", "driven"] = train.change_is
    if backwards:
        side = "driven" if side == "driver" else "driver"
    return gearing.Train(pairs=pairs, change_pair=train.change_place, change_side=side, factor=factor)


def _choices(frame: Frame, wish: Wish) -> dict[str, gearing.WheelChoice]:
    """Choose for every train; the faults of all of them are told together."""
    trains, mill_trains = trains_of(frame), _gearing(frame)
    asked = (
        ("total draft", "total draft", wish.total_draft, mill_trains.total_draft),
        ("break draft", "break draft", wish.break_draft, mill_trains.break_draft),
        ("twist", "twist (turns to a metre delivered)", wish.delivered_twist, mill_trains.twist),
    )
    found: dict[str, gearing.WheelChoice] = {}
    faults: list[Fault] = []
    for name, called, target, train in asked:
        try:
            found[name] = gearing.nearest_wheel(
                trains[name], train.wheels, target, where=f"the {called} wanted of frame {frame.name}"
            )
        except Refusal as refusal:
            faults += refusal.faults
    if faults:
        raise Refusal(faults)
    return found
