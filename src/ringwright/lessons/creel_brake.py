"""The lesson of the creel's brake: hardly on, right, or screwed down."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from ringwright.creel.supply import Supply, supply_of
from ringwright.creel.unwound import TriedCreel, Unwound, unwound_of
from ringwright.lessons.creel_view import creel_view
from ringwright.lessons.ground import Ground
from ringwright.lessons.lesson import Chart, Control, Lesson, Picture, Row, Shown, Span
from ringwright.lessons.line_chart import Curve, Wall, line_chart
from ringwright.lessons.side_view import as_other
from ringwright.lessons.words import changed, computed, source, stated, told
from ringwright.mill import origin_of
from ringwright.report.number import digits, in_unit

__all__ = ["LESSON", "bobbin_of"]

MOST = 10.0
"""Heaviest brake of the slider [mN m]."""


@lru_cache(maxsize=16)
def _supply(ground: Ground) -> Supply:
    return supply_of(ground.mill, ground.frame, ground.yarn)


@lru_cache(maxsize=512)
def bobbin_of(ground: Ground, brake: float) -> Unwound:
    """Unwind a bobbin of the ground with a brake torque [N m]."""
    return unwound_of(_supply(ground), TriedCreel(brake_torque=brake))


def _span(ground: Ground) -> Span:
    return 0.0, max(MOST, float(np.ceil(in_unit(ground.choice.frame.creel.brake_torque, "mN m")))), 0.1


def _start(ground: Ground) -> float:
    """Start well over the band, where there is one, so that both sides are seen on the way back."""
    highest = bobbin_of(ground, 0.0).band.highest
    wanted = MOST if highest is None else min(1.5e3 * highest, MOST)
    return round(wanted * 10) * 1e-4


def _answer(ground: Ground, brake: float) -> Shown:
    as_set = ground.choice.frame.creel.brake_torque
    two = (bobbin_of(ground, as_set), bobbin_of(ground, brake))
    return Shown(
        moved=f"brake {told(brake, 'mN m', 0.1)}",
        other=f"brake {told(as_set, 'mN m', 0.1)}, as set",
        pictures=tuple(_picture(ground, one, other=k == 0) for k, one in enumerate(two)),
        when="A full and a nearly empty bobbin, to scale. The roving is drawn heavier where it pulls harder; after a "
        "quick stop it hangs by its slack.",
        rows=(
            _row("Tension, even running, full bobbin", "cN", [float(one.steady[0]) for one in two]),
            _row("Tension, even running, empty bobbin", "cN", [float(one.steady[-1]) for one in two]),
            _row("Highest tension", "cN", [float(one.highest.max()) for one in two]),
            _row("That over what a weak place bears", "%", [one.false_draft for one in two]),
            _row("Count change by the creel", "%", [float(one.count_change.min()) for one in two], 0.01),
            _row("Torque needed, of that which holds", "%", [one.runs_on for one in two], 1.0),
            _row("Slack after a quick stop", "mm", [float(one.slack.max()) for one in two], 0.1),
        ),
        chart=_chart(ground, two),
        reasons=_reasons(two),
    )  # fmt: skip


def _row(name: str, unit: str, values: list[float], step: float | None = None) -> Row:
    other, moved = (computed(one, unit, step) if np.isfinite(one) else "without end" for one in values)
    return Row(name=name, other=other, moved=moved)


def _picture(ground: Ground, found: Unwound, *, other: bool) -> Picture:
    pulls = (float(found.steady[0]), float(found.steady[-1]))
    named = (f"full, {told(pulls[0], 'cN')}", f"empty, {told(pulls[1], 'cN')}")
    figure = creel_view(ground.choice.frame.creel, pulls, float(found.slack.max()), named)
    title = f"Brake of {told(found.brake, 'mN m', 0.1)}{', as set' if other else ''}"
    below = f"even running {named[0]}; {named[1]}"
    said = f"Two bobbins in the creel, to scale. {title}: {below}"
    return Picture(title=title, figure=as_other(figure) if other else figure, said=said, below=below, other=other)


def _chart(ground: Ground, two: tuple[Unwound, Unwound]) -> Chart:
    low, high, _ = _span(ground)
    here = in_unit(two[1].brake, "mN m")
    across = sorted({here, *(float(one) for one in np.linspace(low, high, 81))})
    taken = [_taken(bobbin_of(ground, 1e-3 * one)) for one in across]
    marks = [(in_unit(one.brake, "mN m"), _taken(one)) for one in two]
    title = "Running on (left) or drawing (right), of what is allowed, %"
    most = max(220.0, 1.1 * marks[0][1], 1.1 * marks[1][1])
    curves = [
        Curve(name="as set", xs=[marks[0][0]] * 2, ys=[marks[0][1]] * 2, other=True, mark=marks[0]),
        Curve(name="", xs=across, ys=[one if one <= most else np.nan for one in taken], mark=marks[1]),
    ]
    wall = Wall(value=100.0, name="allowed", above=True)
    return Chart(title=title, figure=line_chart(curves, "mN m", wall=wall, said=title), said=title)


def _taken(found: Unwound) -> float:
    """Give the harder of running on and drawing, in % of what is allowed."""
    return 100 * max(found.runs_on, found.drawn)


def _reasons(two: tuple[Unwound, Unwound]) -> tuple[str, str, str]:
    as_set, moved = two
    band, creel = moved.band, moved.supply.frame.creel
    if band.highest is None or band.empty:
        span = "no brake keeps this roving from both"
    else:
        span = f"a brake of {told(band.lowest, 'mN m', 0.01)} to {told(band.highest, 'mN m', 0.01)} keeps it from both"
    first, last = (told(float(moved.steady[k]), "cN") for k in (0, -1))
    return (
        (
            f"A brake of {told(moved.brake, 'mN m', 0.1)} is a torque, so its pull grows as the bobbin grows thin: "
            f"{first} at the full bobbin, {last} at the empty one."
        ),
        (
            f"From the brake as set to this one the highest tension {_changed(as_set, moved)}; a weak place bears "
            f"{told(moved.weak, 'cN')}, of which {told(creel.cohesion_share, '%', 1.0)} is allowed, else the roving "
            "drafts before the rollers."
        ),
        (
            "The other way: with too little the bobbin runs on at a stop or turns in the cleaner's air, and its roving "
            f"hangs slack and catches; here {span}."
        ),
    )


def _changed(as_set: Unwound, moved: Unwound) -> str:
    return changed(float(as_set.highest.max()), float(moved.highest.max()), "cN")


def _sources(ground: Ground) -> tuple[str, ...]:
    frame = ground.choice.frame
    roving = ground.mill.rovings[ground.choice.setting.roving]
    friction = stated(ground, "frame", "creel.bearing_friction", "1", 0.001)
    torque = origin_of(frame, "creel.disturbing_torque")[0]
    return (
        source("bearing-tables", f"Bearing torque, friction {digits(friction.value, 0.001)} ({friction.origin.value})"),
        source("GATE-2014", "Tension over the guide rod, the capstan equation"),
        "Cohesion of the roving: read by the mill."
        if roving.cohesion is not None
        else source("Seguin-Crassous-2022", "Cohesion of the roving, our estimate, the form after"),
        f"Torque of air jets and knocks, allowed tension and allowed change of count: the mill's own ({torque}).",
    )


LESSON = Lesson(
    key="creel-brake",
    name="The creel's brake",
    question="Why is a hanging bobbin braked, and why only a little?",
    think="The rollers draw the roving slowly, and nothing else turns the bobbin. Before you move it: "
    "what goes wrong with no brake, what with a hard one, and on which bobbin first, full or empty?",
    control=Control(
        name="Brake on the hanging bobbin", quantity="torque", unit="mN m", span=_span, start=_start,
        why="Read it with a thread round an empty bobbin and a small spring balance.",
    ),
    answer=_answer,
    sources=_sources,
    left_out="The roving's own weight, its bending over rods, and the damping of a bobbin that turns by jerks are left "
    "out; the highest tension is the higher end.",
    works=("setting a hanger's brake", "reaching into the creel"),
)  # fmt: skip
