"""What the break records say, on one sheet: what was found, then each question with its answers and pictures."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Protocol

from ringwright.findings.finding import Answer, Estimate
from ringwright.report.sheets.sheet import Picture, Sheet, Table
from ringwright.report.study_figures import study_figures

__all__ = ["Told", "study_sheet"]


class Told(Protocol):
    """What a study gave: its answers, where the records came from, and breaks outside of recorded running time."""

    @property
    def answers(self) -> tuple[Answer, ...]:
        """The answers, one for each question and frame."""
        ...

    @property
    def origin(self) -> str:
        """Where the records came from, in words."""
        ...

    @property
    def outside(self) -> dict[str, int]:
        """Breaks by frame that fall in no recorded running time."""
        ...


def study_sheet(found: Told, questions: Mapping[str, str]) -> Sheet:
    """Put the answers of a study on a sheet; ``questions`` are the questions in full by their words.

    What was found stands first, then each question with its answers, what it cannot say, and its pictures.
    """
    asked = {word: [one for one in found.answers if one.question == word] for word in questions}
    asked = {word: answers for word, answers in asked.items() if answers}
    findings = [one for answer in found.answers for one in answer.findings]
    left = {frame: count for frame, count in found.outside.items() if count}
    outside = (f"Breaks that fall in no recorded running time, and are in no answer: {_listed(left)}.",) if left else ()
    many = f"{len(findings)} {'thing' if len(findings) == 1 else 'things'} found" if findings else "Nothing found"
    return Sheet(
        title="What the break records say",
        answer=f"{many} beyond chance, from {found.origin}." if not findings else f"{many}, from {found.origin}.",
        tables=(*_findings(found.answers), *(_answers(questions[word], answers) for word, answers in asked.items())),
        pictures=tuple(_pictures(found.answers, questions)),
        warnings=outside,
        notes=(_WORDS,),
    )


_WORDS = (
    "How sure: sure is a false alarm in at most 1 of 1000 records where nothing is there; likely in 1 of 100, or in 10 "
    "of a list of spindles or separators and in 20 of shifts and drive groups; what is less is called may be chance. "
    "Intervals are of 95 %."
)
_NUMBERED = ("spindles", "separators", "shifts")
"""Questions whose sentence does not hold the number itself."""


def _listed(counts: Mapping[str, int]) -> str:
    return ", ".join(f"{frame} {count}" for frame, count in counts.items())


def _findings(answers: Iterable[Answer]) -> tuple[Table, ...]:
    rows = tuple((one.sentence, one.sureness.value) for answer in answers for one in answer.findings)
    if not rows:
        return ()
    return (Table(title="Found", columns=("What", "How sure"), rows=rows, origin="computed from the records"),)


def _answers(question: str, answers: Sequence[Answer]) -> Table:
    """Give the answers to one question, each with what it was counted from; its number where the words have none."""
    word = answers[0].question
    numbered = word in _NUMBERED and any(one.estimate for one in answers)
    rows = tuple(
        (one.sentence, one.sureness.value, *((_number(one.estimate),) if numbered else ()), one.data_used)
        for one in answers
    )
    columns = ("Answer", "How sure", *(("Number (95 %)",) if numbered else ()), "Counted from")
    return Table(
        title=question, columns=columns, rows=rows, origin="computed from the records",
        note=answers[0].cannot_say,
    )  # fmt: skip


def _number(one: Estimate | None) -> str:
    if one is None:
        return ""
    share = one.unit == "1" and one.value < 1
    step = 0 if share or one.unit == "pairs" else 1 if one.value >= 10 else 2
    value, low, high = (f"{100 * v:.0f} %" if share else f"{v:.{step}f}" for v in (one.value, one.low, one.high))
    unit = "" if one.unit == "1" else f" {one.unit}"
    return f"{value}{unit} ({low} to {high}): {one.meaning}"


def _pictures(answers: Iterable[Answer], questions: Mapping[str, str]) -> Iterable[Picture]:
    for answer in answers:
        if answer.picture is not None:
            for figure in study_figures([answer]).values():
                question = questions[answer.question]
                yield Picture(title=f"{question} {answer.picture.title}", svg=figure, words=answer.sentence,
                              about=question, headed=True)  # fmt: skip
