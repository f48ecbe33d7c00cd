"""Every frame of a mill in turn: for each of its settings what to change first, and what all changes give together."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ringwright.improve.better import PartsStudy, Question, seek
from ringwright.improve.watch import NOBODY, STOPPED, Watch
from ringwright.mill import Mill
from ringwright.refusal import Fault, Refusal

__all__ = ["Survey", "Surveyed", "ended_early", "survey"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Surveyed:
    """One setting: the study of its parts, or the sentences that refuse it."""

    frame: str
    yarn: str
    study: PartsStudy | None
    refused: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Survey:
    """All settings looked at, in the order of the mill's file, and those left when it was ended early."""

    mill: Mill
    settings: tuple[Surveyed, ...]
    left: tuple[tuple[str, str], ...]


def survey(question: Question, watch: Watch = NOBODY) -> Survey:
    """Seek the least cost for every setting of the question's mill; its own frame and yarn play no part.

    A setting that cannot be run is told with its reason. A watcher that ends the survey early leaves the settings not
    begun; that under way is told with the best so far. Raises Refusal for a mill without settings.
    """
    settings = [(one.frame, one.yarn) for one in question.mill.settings.values()]
    if not settings:
        wants = "at least one, as a [setting.NAME] table"
        raise Refusal(Fault(where="the settings of the mill", got="none", wants=wants))
    done: list[Surveyed] = []
    for number, (frame, yarn) in enumerate(settings):
        if watch.stopped():
            break
        head = f"{frame} {yarn}, {number + 1} of {len(settings)}: "
        heard = replace(watch, tell=lambda words, head=head: watch.tell(head + words))  # type: ignore[misc]
        try:
            study = seek(replace(question, frame=frame, yarn=yarn, aim="cost", with_fronts=False), heard)
            done.append(Surveyed(frame=frame, yarn=yarn, study=study))
        except Refusal as refusal:
            told = tuple(str(fault) for fault in refusal.faults)
            done.append(Surveyed(frame=frame, yarn=yarn, study=None, refused=told))
    return Survey(mill=question.mill, settings=tuple(done), left=tuple(settings[len(done) :]))


def ended_early(found: Survey) -> bool:
    """Say whether any search of the survey was stopped by hand."""
    return bool(found.left) or any(one.study is not None and one.study.found.ended == STOPPED for one in found.settings)
