"""The best speed through the doff on one sheet."""

from __future__ import annotations

from ringwright.improve.course import CourseStudy, Hold
from ringwright.improve.drive import RPM, Drive, SpeedCourse
from ringwright.judgement.room import told
from ringwright.report.course_chart import CourseFigure, CourseLine, course_chart, terminal_course
from ringwright.report.sheets.rows import COMPUTED, percent, row, setting_rows, share
from ringwright.report.sheets.sheet import Picture, Row, Sheet, Table
from ringwright.setting.choice import Trial
from ringwright.units import show, show_number

__all__ = ["corners", "course_figure", "course_sheet"]

COLUMNS = 86
TROUBLE = 1.005
"""Share of the setting's speed from which an end of the best course is called quicker."""
SPEEDS = (
    "More speed is more noise, and a new speed is a trial: raise it in steps, watch end breaks and travellers. Speeds "
    "are set by trained people; your mill's rules come first."
)
QUICK_ENDS = (
    "The limits alone call for no slower start or tip. Slow ends spare end breaks after doffing and at the tip, which "
    "no limit here counts: bound the speed there (--start-most, --tip-most) if your records show it."
)


def course_figure(study: CourseStudy) -> CourseFigure:
    """Give the figure of a study: best course, present course, and the envelope with the limits that make it."""
    envelope = study.envelope
    names = dict.fromkeys(study.demands[int(number)].kind.name for number in envelope.binding)
    return CourseFigure(
        best=CourseLine(name="best course", shares=study.best.shares, speeds=study.best.speeds),
        present=CourseLine(name="as set", shares=study.present.shares, speeds=study.present.speeds),
        envelope=CourseLine(name="limit", shares=envelope.share.tolist(), speeds=envelope.speed.tolist()),
        limits="; ".join(name.lower() for name in names),
    )


def course_sheet(study: CourseStudy, tried: Trial) -> Sheet:
    """Tell the courses, the gain, the chart, what holds the course where, and what each limit would pay."""
    choice, figure = study.doff.choice, course_figure(study)
    picture = Picture(
        title="Spindle speed through the doff, rpm", svg=course_chart(figure), headed=True,
        words=f"The best course and the setting under the speed that the limits allow ({figure.limits}).",
        letters=tuple(terminal_course(figure, COLUMNS)),
    )  # fmt: skip
    return Sheet(
        title=f"{choice.frame.name}, {choice.yarn.name}: the speed through the doff",
        answer=_answer(study),
        rows=(*_rows(study), *setting_rows(choice, tried)),
        tables=(_courses(study), _holds(study), _pays(study)),
        pictures=(picture,),
        warnings=_warnings(study),
        notes=_notes(study),
        cautions=(SPEEDS,),
    )


def _answer(study: CourseStudy) -> str:
    over = _more(study.gain(study.present), "the setting")
    flat = _more(study.gain(study.flat), "the best constant speed")
    saved = study.present.doff_time(study.turns) - study.best.doff_time(study.turns)
    turn = "off" if saved >= 0 else "more for"
    return f"The best course makes {over} ({show(abs(saved), 'time', 'min', 1)} {turn} each doff), and {flat}."


def _more(gain: float, other: str) -> str:
    text = show_number(100 * abs(gain), 1)
    if not text.strip("0."):
        return f"as much as {other}"
    return f"{text} % {'more' if gain > 0 else 'less'} than {other}"


def _rows(study: CourseStudy) -> tuple[Row, ...]:
    best, turns = study.best, study.turns
    return (
        row("Gain over the setting", study.gain(study.present), ("share", "%"), 1),
        row("Gain over the best constant speed", study.gain(study.flat), ("share", "%"), 1),
        row("Mean speed of the best course", best.mean_speed(turns), ("rotation", "rpm"), 0),
        row("A doff then lasts", best.doff_time(turns), ("time", "min"), 0),
        row("Yarn of one spindle", study.production(best), ("output", "g/h"), 1),
    )


def _courses(study: CourseStudy) -> Table:
    courses = (("as set", study.present), ("best constant", study.flat), ("best course", study.best))
    return Table(
        title="Courses of the speed",
        columns=("Course", "mean, rpm", "doff, min", "g/spindle-h"),
        rows=tuple(
            (name, show_number(course.mean_speed(study.turns) / RPM, 0),
             show_number(course.doff_time(study.turns) / 60, 0), show_number(3.6e6 * study.production(course), 1))
            for name, course in courses
        ),
        origin=COMPUTED,
        numbers=(1, 2, 3),
        note="Below each: its speed at shares of the yarn on the cop, with straight lines between.",
        under=tuple(corners(course) for _, course in courses),
    )  # fmt: skip


def corners(course: SpeedCourse) -> str:
    """Tell the corners of a course: speed at shares of the doff's yarn."""
    ends = zip(course.shares, course.speeds, strict=True)
    return ", ".join(f"{show(round(v / RPM) * RPM, 'rotation', 'rpm', 0)} at {share(s)} %" for s, v in ends)


def _holds(study: CourseStudy) -> Table:
    pairs = zip(study.holds, study.present_holds, strict=True)
    return Table(
        title="How near the best course comes to each limit",
        columns=("Limit", "best course", "as set", "limit lies at", "nearest, min", "holds it, min"),
        rows=tuple(_hold(now, before) for now, before in pairs),
        origin="computed; limits as the mill states them",
        numbers=(1, 2, 3, 4),
    )


def _hold(now: Hold, before: Hold) -> tuple[str, ...]:
    limit = "none is stated" if now.limit is None else told(now.limit, now.kind)
    spans = ", ".join(f"{start / 60:.0f} to {end / 60:.0f}" for start, end in now.holds)
    values = (told(now.value, now.kind), told(before.value, before.kind))
    return (now.kind.name, *values, limit, f"{now.time / 60:.0f}", spans or "nowhere")


def _pays(study: CourseStudy) -> Table:
    rows = []
    for one in study.relaxations:
        hold = next(hold for hold in study.holds if hold.kind is one.kind)
        owner = (hold.authority.origin, hold.authority.owner) if hold.authority else ("", "")
        rows.append((one.kind.name, percent(one.gain), *owner))
    return Table(
        title="What each limit would pay if it were relaxed by 5 %",
        columns=("Limit", "production", "origin of the limit", "its owner"),
        rows=(*rows, ("the others", "nothing", "", "")),
        origin=COMPUTED,
        numbers=(1,),
        note="The others pay nothing, as the course runs at them nowhere.",
    )


def _warnings(study: CourseStudy) -> tuple[str, ...]:
    told = [f"First: {breach.words}" for breach in study.breaches]
    ring = study.doff.choice.frame.ring
    if study.at_high_friction:
        passed = " and ".join(f"{hold.kind.name.lower()} ({hold.words})" for hold in study.at_high_friction)
        told.append(
            f"At ring friction {ring.friction_high:g}, the high end of its band, this course would pass {passed}."
        )
    return tuple(told)


def _notes(study: CourseStudy) -> tuple[str, ...]:
    best, present = study.best.speeds, study.present.speeds
    quick = best[0] > present[0] * TROUBLE or best[-1] > present[-1] * TROUBLE
    solved = f"{len(study.doff.places)} places solved once; every speed follows by similarity."
    return (*((QUICK_ENDS,) if quick else ()), _drive(study.drive), solved)


def _drive(drive: Drive) -> str:
    ramp = show_number(drive.ramp / RPM)
    usual = "assumed, no reading" if drive.ramp == Drive().ramp else "as asked"
    return f"The drive changes speed by at most {ramp} rpm in a second ({usual}); speeds are told in steps of 10 rpm."
