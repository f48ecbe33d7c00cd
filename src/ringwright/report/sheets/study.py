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
    """Put the answers of a study on a sheet; ``questions`` are the questions in full by their words."""
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
        notes=tuple(f"{questions[word]} Cannot say: {answers[0].cannot_say}" for word, answers in asked.items()),
        sources=tuple(f"{questions[word]} Used: {answers[0].data_used}." for word, answers in asked.items()),
    )


def _listed(counts: Mapping[str, int]) -> str:
    return ", ".join(f"{frame} {count}" for frame, count in counts.items())


def _findings(answers: Iterable[Answer]) -> tuple[Table, ...]:
    rows = tuple((one.sureness.value, one.sentence) for answer in answers for one in answer.findings)
    if not rows:
        return ()
    return (Table(title="Found", columns=("How sure", "What"), rows=rows, origin="computed from the records"),)


def _answers(question: str, answers: Sequence[Answer]) -> Table:
    rows = tuple((one.sentence, one.sureness.value, _number(one.estimate)) for one in answers)
    return Table(
        title=question, columns=("Answer", "How sure", "Number, with its 95 % interval"), rows=rows,
        origin="computed from the records",
    )  # fmt: skip


def _number(one: Estimate | None) -> str:
    if one is None:
        return ""
    share = one.unit == "1" and one.value < 1
    step = 0 if share or one.unit == "pairs" else 1 if one.value >= 10 else 2
    value, low, high = (f"{v:.0%}" if share else f"{v:.{step}f}" for v in (one.value, one.low, one.high))
    unit = "" if one.unit == "1" else f" {one.unit}"
    return f"{value}{unit} ({low} to {high}): {one.meaning}"


def _pictures(answers: Iterable[Answer], questions: Mapping[str, str]) -> Iterable[Picture]:
    for answer in answers:
        if answer.picture is not None:
            for figure in study_figures([answer]).values():
                yield Picture(title=questions[answer.question], svg=figure, words=answer.sentence)
