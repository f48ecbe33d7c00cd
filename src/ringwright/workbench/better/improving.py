"""The best speed through the doff, and better parts, for one frame and yarn or for every frame."""

from __future__ import annotations

from collections.abc import Mapping

from ringwright.mill import Mill
from ringwright.workbench.better.question import (
    Blank,
    Figure,
    Question,
    Say,
    Stopped,
    Told,
    number,
    told,
    trial_of,
    whole,
    words_of,
)

# The answers import what they need as they are called, in the worker that answers.
# ruff: noqa: PLC0415

__all__ = ["COURSE", "IMPROVE", "SURVEY"]

Names = tuple[str, str]
_LIMITS = Blank(key="limits", label="Other limits", hint='As "traveller_heat=10 W", parted by commas.')
_KEEP = Blank(key="keep", label="Keep as they are", hint='Parts, as "guide-height, traveller".')
_MOST = Blank(key="candidates", label="Candidates", hint="After which the search ends in any case.")


def _course(mill: Mill, names: Names, typed: Mapping[str, str], _: Say, __: Stopped) -> Told:
    from ringwright.report.course_chart import course_chart
    from ringwright.report.course_text import course_figure, course_text
    from ringwright.verbs import app

    driven = {
        "steps": whole(typed, "steps", "Corners"),
        "ramp": number(typed, "ramp", "Change of speed"),
        **{key: typed.get(key) or None for key in ("least", "most", "start_most", "tip_most")},
    }
    study = app.best_course(mill, *names, trial_of(typed), driven, words_of(typed, "limits"))
    figure = Figure(title="Spindle speed through the doff", svg=course_chart(course_figure(study)))
    return told(course_text(study), figure)


def _improve(mill: Mill, names: Names, typed: Mapping[str, str], say: Say, stopped: Stopped) -> Told:
    from ringwright.report.front_chart import front_chart
    from ringwright.report.improve_text import front_figures, improve_text
    from ringwright.verbs import app

    study = app.improve(
        mill, *names, aim=typed.get("aim") or "production", keep=words_of(typed, "keep"),
        limits=words_of(typed, "limits"), watch=(say, stopped), production=typed.get("production") or None,
        candidates=whole(typed, "candidates", "Candidates"), ring_friction=number(typed, "friction", "Ring friction"),
    )  # fmt: skip
    figures = (Figure(title=f"Trade-off: {name}", svg=front_chart(one)) for name, one in front_figures(study).items())
    return told(improve_text(study), *figures)


def _survey(mill: Mill, _: Names, typed: Mapping[str, str], say: Say, stopped: Stopped) -> Told:
    from ringwright.report.survey_text import survey_text
    from ringwright.verbs import app

    found = app.survey(
        mill, keep=words_of(typed, "keep"), limits=words_of(typed, "limits"),
        candidates=whole(typed, "candidates", "Candidates"), watch=(say, stopped),
    )  # fmt: skip
    return told(survey_text(found))


COURSE = Question(
    key="course", name="Speed", question="Which speed at each moment of the doff keeps every limit and makes most?",
    blanks=(
        Blank(key="steps", label="Corners", hint="2 to 10; start, base, main and tip if left empty."),
        Blank(key="ramp", label="Change of speed", hint="Fastest that the drive makes, in rpm per second."),
        Blank(key="least", label="Least of the drive", hint='As "8000 rpm".'),
        Blank(key="most", label="Most of the drive", hint='As "17000 rpm".'),
        Blank(key="start_most", label="Most at the start", hint='As "14000 rpm".'),
        Blank(key="tip_most", label="Most at the tip", hint='As "15000 rpm".'),
        _LIMITS,
        Blank(key="traveller", label="Traveller", hint='Another mass, as "40 mg".'),
        Blank(key="friction", label="Ring friction", hint='Another one, as "0.12".'),
    ),
    answer=_course,
)  # fmt: skip
IMPROVE = Question(
    key="improve", name="Parts", question="Which parts and speeds would be better, and what is that worth?",
    blanks=(
        Blank(key="aim", label="Seek", choices=("production", "cost", "tension"), hint="Most yarn, or least of these."),
        Blank(key="production", label="Must make", hint='With tension: yarn of one spindle, as "22 g/h".'),
        _KEEP, _LIMITS, _MOST,
        Blank(key="friction", label="Ring friction", hint='Another one, as "0.12".'),
    ),
    answer=_improve, long=True,
)  # fmt: skip
SURVEY = Question(
    key="survey", name="Every frame", question="What to change first on each frame of the mill, and what is it worth?",
    blanks=(_KEEP, _LIMITS, _MOST), answer=_survey, long=True,
)  # fmt: skip
