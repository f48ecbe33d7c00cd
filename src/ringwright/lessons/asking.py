"""A lesson asked for by names and words: what both doors, the command and the page, answer alike."""

from __future__ import annotations

from dataclasses import dataclass

from ringwright.creel.cautions import creel_cautions
from ringwright.judgement import Caution, cautions
from ringwright.lessons.catalogue import lesson_at
from ringwright.lessons.ground import Ground
from ringwright.lessons.lesson import Lesson, Shown, read_control
from ringwright.mill import Mill
from ringwright.refusal import Fault, Refusal

__all__ = ["Asked", "ask", "require_shown"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A lesson with its ground, its answer and its cautions."""

    lesson: Lesson
    ground: Ground
    shown: Shown
    cautions: tuple[Caution, ...]


def ask(mill: Mill, key: str, frame: str, yarn: str, word: str) -> Asked:
    """Ask a lesson of a mill; an empty frame or yarn is that of its first setting.

    Raises Refusal for an unknown lesson, frame or yarn, for a frame that cannot show it, and for a value out of range.
    """
    lesson = lesson_at(key)
    settings = [one for one in mill.settings.values() if frame in {"", one.frame} and yarn in {"", one.yarn}]
    if settings:
        frame, yarn = settings[0].frame, settings[0].yarn
    ground = Ground(mill=mill, frame=frame, yarn=yarn)
    choice = ground.choice
    require_shown(lesson, ground)
    there = (*cautions(choice.frame, choice.yarn), *creel_cautions(choice.yarn))
    known = {caution.work: caution for caution in there}
    return Asked(
        lesson=lesson,
        ground=ground,
        shown=lesson.answer(ground, read_control(lesson, ground, word)),
        cautions=tuple(known[work] for work in lesson.works if work in known),
    )


def require_shown(lesson: Lesson, ground: Ground) -> None:
    """Refuse a lesson that this frame cannot show, with the reason."""
    missing = lesson.missing(ground)
    if missing:
        name = f"the lesson {lesson.name[:1].lower()}{lesson.name[1:]}"
        mend = f"{missing} Choose another frame."
        raise Refusal(
            Fault(where=name, got=f"asked for on {ground.frame}", wants="on a frame that can show it", mend=mend)
        )
