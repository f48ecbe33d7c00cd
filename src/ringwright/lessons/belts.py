"""The lesson of the belts: one that turns every spindle of the frame, or several that share them."""

from __future__ import annotations

import math

from ringwright.lessons.drive_model import DRUM_MARGIN, SharedBelt, shared_belt
from ringwright.lessons.drive_power import belt_pull, no_belt, power_source, spindle_power
from ringwright.lessons.ground import Ground, doff_of
from ringwright.lessons.lesson import Chart, Control, Lesson, Picture, Row, Shown, Span
from ringwright.lessons.line_chart import Curve, line_chart
from ringwright.lessons.pair import row
from ringwright.lessons.side_view import as_other
from ringwright.lessons.wharve_view import belt_laid_out
from ringwright.lessons.words import cite, number_or, stated, told
from ringwright.mill import origin_of
from ringwright.physics.twist import twist
from ringwright.report.number import Number, Origin, digits, in_unit

__all__ = ["LESSON", "spindles_of_one", "twist_lost"]

COUNTS = (1, 2, 3, 4, 6, 8, 12, 16)
GROUP = 50
"""Spindles of one belt where belts drive groups: common practice, no source."""


def spindles_of_one(spindles: int, belts: int) -> int:
    """Return the spindles that the belt with most of them turns."""
    return math.ceil(spindles / belts)


def twist_lost(turns: float, slip: float) -> float:
    """Return the twist [turns/m] that a yarn loses to slip, the rollers delivering as before: T s. Geometry."""
    return turns * slip


def _most(ground: Ground) -> int:
    return max(2, round(ground.choice.frame.spindles / GROUP))


def _span(ground: Ground) -> Span:
    return 1.0, float(_most(ground)), 1.0


def _names(count: int) -> str:
    return {1: "one belt (single)", 2: "two belts (double)"}.get(count, f"{count} belts")


def _answer(ground: Ground, belts: float) -> Shown:
    frame = ground.choice.frame
    other, moved = 1, round(belts)
    each = [spindles_of_one(frame.spindles, count) for count in (other, moved)]
    one = _pull_of_one(ground)
    pulls = [one * count for count in each]
    turns, shared = _twist(ground), [shared_belt(ground, count) for count in each]
    lost = twist_lost(turns, frame.drive.slip)
    return Shown(
        moved=_names(moved),
        other=_names(other),
        pictures=(
            _picture(frame.spindles, other, (pulls[0], pulls[0]), each[0], other=True),
            _picture(frame.spindles, moved, (pulls[1], pulls[0]), each[1], other=False),
        ),
        stacked=True,
        when="One belt laid out straight, lengths to one scale, a tick for each twelve spindles; it is drawn heavier "
        "where it pulls harder. How belts are led round a frame differs and is not drawn.",
        rows=(
            Row(name="Spindles on one belt", other=_count(each[0], "spindles"), moved=_count(each[1], "spindles")),
            row("Pull that adds up on one belt", "N", (pulls[0], pulls[1]), 1.0),
            row("Slack strand that its drum then needs", "N", (shared[0].slack, shared[1].slack), 1.0),
            row("Stretch from slack end to tight end", "%", (shared[0].stretch, shared[1].stretch), 0.01),
            row("Fastest spindle over slowest", "%", (shared[0].spread, shared[1].spread), 0.01),
            row("Twist that the slowest lacks", "t/m", (turns * shared[0].spread,
                turns * shared[1].spread), 0.1),
            _same("Slip as the mill states it", stated(ground, "frame", "drive.slip", "%")),
            _same("Twist lost if the wheels ignore it", number_or(lost, "t/m", 0.1)),
        ),
        chart=_chart(ground, (other, moved), shared),
        reasons=_reasons(ground, moved, each, pulls),
        notes=(_frames(ground), *doff_of(ground).notes),
    )  # fmt: skip


def _count(number: int, unit: str = "1") -> Number:
    return Number(value=float(number), unit=unit, origin=Origin.COMPUTED, step=1.0)


def _same(name: str, shown: Number | str) -> Row:
    return Row(name=name, other=shown, moved=shown)


def _twist(ground: Ground) -> float:
    return float(twist(ground.choice.yarn.twist_multiplier, ground.choice.yarn.count))


def _pull_of_one(ground: Ground) -> float:
    choice = ground.choice
    return belt_pull(spindle_power(ground), choice.frame.spindle.wharve_diameter, choice.setting.main_speed)


def _picture(spindles: int, count: int, pulls: tuple[float, float], each: int, *, other: bool) -> Picture:
    pull, most_pull = pulls
    name = f"{digits(each, 1.0)} spindles, {told(pull, 'N', 1.0)} at the drum"
    figure = belt_laid_out(each, spindles, pull, most_pull, name)
    title = _names(count)[:1].upper() + _names(count)[1:]
    said = f"One belt laid out straight, {title}: {name}"
    return Picture(title=title, figure=as_other(figure) if other else figure, said=said, below="", other=other)


def _chart(ground: Ground, two: tuple[int, int], shared: list[SharedBelt]) -> Chart | None:
    if not math.isfinite(shared[0].spread):
        return None
    counts = sorted({*COUNTS, _most(ground), two[1]})
    spindles = ground.choice.frame.spindles
    ys = [100 * shared_belt(ground, spindles_of_one(spindles, count)).spread for count in counts]
    title = "Fastest spindle over slowest, by the number of belts, %"
    said = f"{title}: the numbers stand in the table"
    curves = [
        Curve(name="one belt", xs=[1.0, 1.0], ys=[ys[0]] * 2, other=True, mark=(1.0, ys[0])),
        Curve(name="", xs=[float(k) for k in counts], ys=ys, mark=(float(two[1]), 100 * shared[1].spread)),
    ]
    return Chart(title=title, figure=line_chart(curves, "belts", said=said), said=said)


def _reasons(ground: Ground, moved: int, each: list[int], pulls: list[float]) -> tuple[str, str, str]:
    turns = _twist(ground)
    belts = "One belt turns" if moved == 1 else f"Each of {moved} belts turns"
    shared = [shared_belt(ground, count) for count in each]
    return (
        (
            f"Every wharve asks {told(_pull_of_one(ground), 'N')} of its belt, and along the belt these add up: "
            f"{told(pulls[0], 'N', 1.0)} at the drum if one belt turns all {digits(each[0], 1.0)} spindles."
        ),
        (
            f"A belt that is pulled harder is longer and so runs faster: {belts.lower()} {digits(each[1], 1.0)} "
            f"spindles with {told(pulls[1], 'N', 1.0)}, and from its first to its last spindle the speed rises by "
            f"{told(shared[1].spread, '%', 0.01)}, against {told(shared[0].spread, '%', 0.01)} with one belt."
        ),
        (
            f"The rollers deliver alike to all, so {told(turns * shared[0].spread, 't/m', 0.1)} of "
            f"{told(turns, 't/m')} is missing at one end of a single belt, "
            f"{told(turns * shared[1].spread, 't/m', 0.1)} here; the price of more belts is more drums or motors to "
            f"keep in step."
        ),
    )


def _frames(ground: Ground) -> str:
    told_of = [
        f"{name}, {frame.drive.kind}, {digits(in_unit(frame.drive.slip, '%'), 0.1)} %"
        for name, frame in ground.mill.frames.items()
    ]
    return f"Slip as the mill states it for its frames: {'; '.join(told_of)}."


def _sources(ground: Ground) -> tuple[str, ...]:
    slip = stated(ground, "frame", "drive.slip", "%")
    origin = origin_of(ground.choice.frame, "drive.belt.pull_at_one_percent")[0]
    return (
        power_source(ground),
        "Pull: that power over the speed of the belt, added up along it.",
        f"Stretch of the belt: {told(_one_percent(ground), 'N', 1.0)} for 1 % ({origin}), as the mill states it.",
        f"Creep: {cite('Bird-1905')}; slack strand by the belt law, {digits(DRUM_MARGIN, 1.0)} times held.",
        f"Slip: as the mill states it ({slip.origin.value}); its cost in twist is geometry.",
        f"That one belt for all runs spindles less alike, and groups of about 50 a side: {cite('Klein-1987')}.",
    )


def _one_percent(ground: Ground) -> float:
    return ground.choice.frame.drive.belt.pull_at_one_percent


LESSON = Lesson(
    key="belts",
    name="Single and double belt",
    question="Why two belts in place of one?",
    think="Same frame, spindles and speed; only the number of belts that share the spindles differs. Before you move "
    "it: where does a belt pull hardest?",
    control=Control(
        name="Belts that share the spindles", quantity="ratio", unit="1", span=_span, start=lambda _: 2.0, whole=True,
        why="1 is a single belt, 2 a double; groups of about 50 spindles at the other end.",
    ),
    answer=_answer,
    sources=_sources,
    left_out="The start of the frame, and how a belt ages. Each belt is tightened until its drum could give twice its "
    "pull, so that like stands beside like; ringwright drive takes the mill's own tension.",
    works=("work on belts", "work on spindle tapes", "all work past the guards"),
    missing=no_belt,
)  # fmt: skip
