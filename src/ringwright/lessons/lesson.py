"""What a lesson is: a question, one part to move, and the answer shown for a value of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from ringwright.lessons.ground import Ground
from ringwright.refusal import Fault, Refusal
from ringwright.report.number import Number
from ringwright.units import chosen, in_unit, parse, show

__all__ = ["Chart", "Control", "Lesson", "Picture", "Row", "Shown", "Span", "read_control"]

Span = tuple[float, float, float]
"""Least, most and step of what is moved, in its unit."""
SAME_STEP = 0.02
"""Share of a step within which a value told in another unit is that step: its last figure is no finer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Control:
    """The one part to move: its name, its unit, how far it goes, and where it stands at first (SI)."""

    name: str
    quantity: str
    unit: str
    span: Callable[[Ground], Span]
    start: Callable[[Ground], float]
    why: str | Callable[[], str] = ""
    """A word to it; a function where it tells a figure, written in the units that the reader chose."""
    whole: bool = False
    """Only whole numbers make sense."""

    @property
    def why_words(self) -> str:
        """The word to it, in the units chosen."""
        return self.why if isinstance(self.why, str) else self.why()


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A drawing (SVG in the report's colours): its title, what is written below it, and what a screen reader says."""

    title: str
    figure: str
    said: str
    below: str = ""
    other: bool = False
    """It shows the other setting, not the moved one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One number in both settings; a sentence stands where there is no number."""

    name: str
    other: Number | str
    moved: Number | str


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """A chart (SVG in the report's colours), its title with the unit, and what a screen reader says."""

    title: str
    figure: str
    said: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """The answer to one value of the moved part."""

    moved: str
    """The moved setting in few words."""
    other: str
    """The setting it is held against."""
    pictures: tuple[Picture, ...]
    when: str
    """The moment that is drawn, or what the drawing shows."""
    rows: tuple[Row, ...]
    chart: Chart | None
    reasons: tuple[str, str, str]
    stacked: bool = False
    """The pictures are wide and stand one below the other."""
    notes: tuple[str, ...] = ()
    """What must be known to read the figures: places without a steady balloon, and the like."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lesson:
    """A lesson as data, with the pure function that answers it."""

    key: str
    name: str
    question: str
    think: str
    """What to think of before the part is moved."""
    control: Control
    answer: Callable[[Ground, float], Shown]
    sources: Callable[[Ground], tuple[str, ...]]
    left_out: str
    """What the figures do not hold, in one or two sentences."""
    works: tuple[str, ...] = ()
    """Kinds of work with a caution."""
    missing: Callable[[Ground], str] = field(default=lambda _: "")
    """Why a frame cannot show this lesson, or nothing."""


def read_control(lesson: Lesson, ground: Ground, word: str) -> float:
    """Read what was typed for the moved part into SI; an empty word is where it stands at first.

    Raises Refusal for a word that is no quantity, or one outside the span.
    """
    control = lesson.control
    if not word.strip():
        return control.start(ground)
    value = parse(word, control.quantity, control.name)
    low, high, step = control.span(ground)
    number = in_unit(value, control.quantity, control.unit)
    if not low - 1e-9 <= number <= high + 1e-9:
        raise Refusal(Fault(where=control.name, got=_told(control, number), wants=_between(control, low, high)))
    if control.whole and abs(number - round(number)) > 1e-9:
        raise Refusal(Fault(where=control.name, got=_told(control, number), wants="a whole number"))
    # A value on a step is that step exactly, so that slider and field ask the same question; 1.575 in is 40 mm.
    nearest = round(number / step) * step
    near = 1e-9 * abs(number) if chosen(control.unit) == control.unit else SAME_STEP * step
    return value * nearest / number if number and abs(number - nearest) < near else value


def _told(control: Control, number: float) -> str:
    if control.unit == "1":
        return f"{number:g}"
    return show(_si(control, number), control.quantity, control.unit)


def _between(control: Control, low: float, high: float) -> str:
    return f"between {_told(control, low)} and {_told(control, high)}"


def _si(control: Control, number: float) -> float:
    return parse(f"{number:.10g} {control.unit}", control.quantity, control.name)
