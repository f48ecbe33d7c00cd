"""The cautions for work on a frame with a yarn, for those who may not reach past the verbs."""

from __future__ import annotations

from collections.abc import Iterable

from ringwright.creel.cautions import creel_cautions
from ringwright.judgement import Caution, cautions
from ringwright.setting.choice import Choice

__all__ = ["Caution", "cautions_for"]


def cautions_for(choice: Choice, works: Iterable[str]) -> list[Caution]:
    """Give the cautions for these kinds of work that the frame and yarn call for, in the order asked."""
    there = (*cautions(choice.frame, choice.yarn), *creel_cautions(choice.yarn))
    known = {caution.work: caution for caution in there}
    return [known[work] for work in works if work in known]
