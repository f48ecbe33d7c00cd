"""The best speed through the doff, and better parts, for one frame and yarn or for every frame."""

from __future__ import annotations

from ringwright.verbs import paying
from ringwright.verbs.paying import Paid
from ringwright.workbench.better.blanks import COUNTED, FIT, FRICTION, LIMITS, TRIED, counts_of
from ringwright.workbench.better.question import (
    Asked,
    Blank,
    Question,
    Say,
    Stopped,
    number,
    opened,
    trial_of,
    whole,
    words_of,
)

__all__ = ["COURSE", "IMPROVE", "SURVEY"]

_KEEP = Blank(key="keep", label="Keep as they are", hint='Parts, as "guide-height, traveller".', option="--keep")
_REACH = Blank(
    key="reach", label="Reach of the parts", hint='As "guide-height=-10 to 15 mm", parted by commas.',
    option="--reach",
)  # fmt: skip
_MOST = Blank(
    key="candidates", label="Candidates", hint="After which the search ends in any case.", option="--candidates"
)
_DRIVE = ("least", "most", "start_most", "tip_most")


def _course(asked: Asked, _: Say, __: Stopped) -> Paid:
    driven = {
        "steps": whole(asked, "steps", "--steps"),
        "ramp": number(asked, "ramp", "--ramp"),
        **{key: asked[key] or None for key in _DRIVE},
    }
    return paying.course(opened(asked), asked.ground.names, trial_of(asked), driven, words_of(asked, "limits"))


def _improve(asked: Asked, say: Say, stopped: Stopped) -> Paid:
    return paying.improve(
        opened(asked), asked.ground.names, counts_of(asked), aim=asked["aim"] or "production", watch=(say, stopped),
        keep=words_of(asked, "keep"), limits=words_of(asked, "limits"), reach=words_of(asked, "reach"),
        production=asked["production"] or None, candidates=whole(asked, "candidates", "--candidates"),
        ring_friction=number(asked, "friction", "--ring-friction"),
    )  # fmt: skip


def _survey(asked: Asked, say: Say, stopped: Stopped) -> Paid:
    return paying.survey(
        asked.ground.mill, keep=words_of(asked, "keep"), limits=words_of(asked, "limits"),
        reach=words_of(asked, "reach"), candidates=whole(asked, "candidates", "--candidates"), watch=(say, stopped),
    )  # fmt: skip


COURSE = Question(
    key="course", name="Speed", question="Which speed at each moment of the doff keeps every limit and makes most?",
    blanks=(
        Blank(key="steps", label="Corners", hint="2 to 10; start, base, main and tip if left empty.", option="--steps"),
        Blank(key="ramp", label="Change of speed", hint="Fastest that the drive makes, in rpm per second.",
              option="--ramp"),
        Blank(key="least", label="Least of the drive", hint='As "8000 rpm".', option="--least"),
        Blank(key="most", label="Most of the drive", hint='As "17000 rpm".', option="--most"),
        Blank(key="start_most", label="Most at the start", hint='As "14000 rpm".', option="--start-most"),
        Blank(key="tip_most", label="Most at the tip", hint='As "15000 rpm".', option="--tip-most"),
        LIMITS, *(one for one in TRIED if one.key != "speed"), FIT,
    ),
    answer=_course, command="course",
)  # fmt: skip
IMPROVE = Question(
    key="improve", name="Parts", question="Which parts and speeds would be better, and what is that worth?",
    blanks=(
        Blank(key="aim", label="Seek", choices=("production", "cost", "tension"), hint="Most yarn, or least of these."),
        Blank(key="production", label="Must make", hint='With tension: yarn of one spindle, as "22 g/h".',
              option="--production"),
        _KEEP, _REACH, LIMITS, _MOST, FRICTION, *COUNTED, FIT,
    ),
    answer=_improve, long=True, command="improve", act="Seek",
)  # fmt: skip
SURVEY = Question(
    key="survey", name="Every frame", question="What to change first on each frame of the mill, and what is it worth?",
    blanks=(_KEEP, _REACH, LIMITS, _MOST), answer=_survey, long=True, command="improve --all-frames", act="Seek",
)  # fmt: skip
