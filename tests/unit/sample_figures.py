"""An invented but plausible frame F1 with yarn AV30K, for the tests of the report; no number here is a result."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from ringwright.report.limits_chart import Room
from ringwright.report.number import Number, Origin
from ringwright.report.position_inputs import (
    Balloon,
    Callout,
    ControlRing,
    Drafting,
    Height,
    Package,
    PositionFigure,
    Separators,
)
from ringwright.report.rails_chart import HeightCourse, RailsFigure
from ringwright.report.tension_chart import SpeedCourse, TensionCourse, TensionFigure

MEASURED, COMPUTED = Origin.MEASURED, Origin.COMPUTED
ASSUMED, PRACTICE = Origin.ASSUMED, Origin.COMMON_PRACTICE
RPM = 2 * math.pi / 60
STROKES = [240 + 29.2 * k for k in range(259)]


def mm(value: float, origin: Origin = MEASURED, **more: Any) -> Number:
    return Number(value=value * 1e-3, unit="mm", origin=origin, **more)


def balloon(height: float = 222e-3) -> Balloon:
    share = [k / 60 for k in range(61)]
    radius = [0.5 * 0.040 * s + 15e-3 * math.sin(math.pi * s) * (1 - 0.25 * math.sin(math.pi * s) ** 4) for s in share]
    return Balloon(
        depth=[height * s for s in share],
        radius=radius,
        azimuth=[-0.9 * s**1.6 for s in share],
        tension=[0.24 - 0.011 * s for s in share],
    )


def position(**changes: Any) -> PositionFigure:
    usual: dict[str, Any] = {
        "moment": "Minute 4: empty tube, first stroke.",
        "ring_diameter": 40e-3, "ring_height": 0.0, "guide_height": 222e-3, "other_guide_height": 278e-3,
        "winding_diameter": 20e-3, "winding_tension": 0.339, "triangle_tension": 0.21, "wharve_diameter": 20e-3,
        "balloon": balloon(),
        "package": Package(
            tube_foot=-15e-3, tube_length=206e-3, tube_bottom_diameter=20e-3, tube_top_diameter=13e-3,
            cop=[(-5e-3, 10e-3), (0.0, 10.4e-3), (2e-3, 10.4e-3), (46e-3, 8.4e-3)],
        ),
        "drafting": Drafting(
            front_diameter=27e-3, middle_diameter=25e-3, back_diameter=27e-3, nip_height=352e-3, nip_offset=32e-3
        ),
        "control_ring": ControlRing(diameter=44e-3, height=100e-3),
        "separators": Separators(gauge=70e-3, thickness=1e-3),
        "heights": [
            Height(name="control ring", number=mm(100)),
            Height(name="tube tip", number=mm(191)),
            Height(name="lappet, start", number=mm(222)),
            Height(name="lappet, end", number=mm(278, COMPUTED)),
        ],
        "callouts": [
            Callout(part="creel", name="Roving", number=Number(value=843.6e-6, unit="hank", origin=MEASURED)),
            Callout(
                part="drafting", name="Break draft", number=Number(value=1.20, unit="times", origin=PRACTICE, step=0.01)
            ),
            Callout(
                part="triangle", name="Triangle", number=Number(value=0.21, unit="cN", origin=COMPUTED), note="tension"
            ),
            Callout(part="lappet", name="Lappet", number=mm(56), note="travel"),
            Callout(part="separators", name="Separators", number=mm(70), note="gauge"),
            Callout(part="control ring", name="Control ring", number=mm(44), note="across"),
            Callout(part="ring", name="Ring", number=mm(40), note="across"),
            Callout(part="wharve", name="Wharve", number=mm(20), note="across"),
        ],
    }  # fmt: skip
    return PositionFigure(**(usual | changes))


def _between(minute: float, corners: Sequence[tuple[float, float]]) -> float:
    for (t0, v0), (t1, v1) in pairwise(corners):
        if t0 <= minute <= t1:
            return v0 + (v1 - v0) * (minute - t0) / (t1 - t0)
    return corners[-1][1]


def course(name: str = "A", factor: float = 1.0) -> TensionCourse:
    highest = [(0, 34), (9, 34), (34, 49), (112, 50), (140, 43)]
    lowest = [(0, 31), (9, 28), (34, 33), (112, 30), (140, 25)]
    minutes = [t / 60 for t in STROKES]
    high = [0.01 * factor * _between(m, highest) for m in minutes]
    low = [0.01 * factor * _between(m, lowest) for m in minutes]
    return TensionCourse(
        name=name,
        time=STROKES,
        winding_high=high,
        winding_low=low,
        guide_high=[0.67 * v for v in high],
        guide_low=[0.7 * v for v in low],
        triangle_high=[0.6 * v for v in high],
    )


SPEED = SpeedCourse(
    time=[0, 480, 1560, 2010, 6760, 7800], speed=[v * RPM for v in (13440, 13440, 15200, 16000, 16000, 14720)]
)


def tension(**changes: Any) -> TensionFigure:
    usual: dict[str, Any] = {
        "a": course(),
        "limit": 0.79,
        "limit_name": "a quarter of\nyarn strength",
        "speed": SPEED,
    }
    return TensionFigure(**(usual | changes))


def heights(name: str, low: tuple[float, float], high: tuple[float, float]) -> HeightCourse:
    last = len(STROKES) - 1
    runs = [[(a + (b - a) * k / last) * 1e-3 for k in range(last + 1)] for a, b in (low, high)]
    return HeightCourse(name=name, time=STROKES, low=runs[0], high=runs[1])


def rails() -> RailsFigure:
    return RailsFigure(
        rails=[
            heights("lappet", (222, 268), (232, 278)),
            heights("control ring", (100, 190), (125, 218)),
            heights("ring rail", (0, 124), (46, 170)),
        ],
        tube_tip=191e-3,
    )


def rooms() -> list[Room]:
    tenth = 0.1
    return [
        Room(
            name="Yarn strength", moment="minute 112, on the bare tube", used=0.63, used_low=0.53, used_high=0.72,
            room=Number(value=0.29, unit="cN", origin=COMPUTED, low=0.22, high=0.37, step=1.0, source="strength"),
        ),
        Room(
            name="Separator", moment="minute 36, base full", used=0.81, used_low=0.79, used_high=0.86,
            room=mm(6.5, COMPUTED, low=4.9e-3, high=7.4e-3, step=tenth),
        ),
        Room(
            name="Traveller heat", moment="minutes 34 to 112", used=0.66, used_low=0.52, used_high=0.84,
            room=Number(value=4.1, unit="W", origin=COMPUTED, low=2.0, high=5.8, source="heat"),
        ),
        Room(
            name="Fold", moment="minute 36, base full", used=0.46, used_low=0.36, used_high=0.55, more="lighter",
            room=Number(value=24e-6, unit="mg", origin=COMPUTED, low=20e-6, high=29e-6, step=1.0),
        ),
        Room(
            name="Tube tip", moment="minute 4, first layer", used=0.87, used_low=0.84, used_high=0.91,
            room=mm(1.3, COMPUTED, low=0.9e-3, high=1.6e-3, step=tenth),
        ),
        Room(
            name="Lift-off", moment="last layers", used=0.19, used_low=0.15, used_high=0.23,
            room=Number(value=1.62, unit="cN", origin=COMPUTED, low=1.54, high=1.70, step=1.0),
        ),
        Room(name="Neck", not_met="not met: the balloon folds before it necks"),
    ]  # fmt: skip
