"""The best speed through the doff, told on a terminal."""

from __future__ import annotations

from textwrap import wrap

from ringwright.improve.course import CourseStudy, Hold
from ringwright.improve.drive import RPM, Drive
from ringwright.report.course_chart import CourseFigure, CourseLine, terminal_course
from ringwright.units import NARROW_SPACE, show, show_number

__all__ = ["course_figure", "course_lines", "course_text", "percent"]

WIDTH = 88


def percent(share: float) -> str:
    """Tell a gain in % with its sign; one that rounds to nought has none."""
    text = show_number(100 * share, 1)
    return f"+{text} %" if share > 0 and text.strip("0.") else f"{text} %"


def course_figure(study: CourseStudy) -> CourseFigure:
    """Give the figure of a study: best course, present course, and the envelope with the limits that make it."""
    envelope = study.envelope
    names = dict.fromkeys(study.demands[int(row)].kind.name for row in envelope.binding)
    return CourseFigure(
        best=CourseLine(name="best course", shares=study.best.shares, speeds=study.best.speeds),
        present=CourseLine(name="as set", shares=study.present.shares, speeds=study.present.speeds),
        envelope=CourseLine(name="limit", shares=envelope.share.tolist(), speeds=envelope.speed.tolist()),
        limits="; ".join(name.lower() for name in names),
    )


def course_text(study: CourseStudy) -> str:
    """Tell the courses, the gain, the chart, what holds the course where, and what each limit would pay."""
    choice = study.doff.choice
    title = f"{choice.frame.name}, {choice.yarn.name}: the speed through the doff"
    lines = [title, "=" * WIDTH, *_breaches(study), *course_lines(study), ""]
    lines += ["Spindle speed, rpm", *(f"  {line}" for line in terminal_course(course_figure(study), WIDTH - 2))]
    lines += ["", "How near the best course comes to each limit (the value as set in brackets)"]
    lines += [_hold(now, before) for now, before in zip(study.holds, study.present_holds, strict=True)]
    lines += ["", "What each limit would pay if it were relaxed by 5 %", *_pays(study), "", "Mind", *_mind(study)]
    lines += [
        "",
        f"{len(study.doff.places)} places solved once; every speed follows by similarity. All results are computed.",
    ]
    return "\n".join(lines).replace(NARROW_SPACE, " ")


def course_lines(study: CourseStudy) -> list[str]:
    """Tell the three courses as rows, and the gain."""
    rows = (("as set", study.present), ("best constant", study.flat), ("best course", study.best))
    head = f"{'':<16}{'mean':>12}{'doff':>9}{'g/spindle-h':>13}  speed, rpm, at % of the yarn"
    told = [head]
    for name, course in rows:
        corners = ", ".join(f"{_rpm(v)} at {_share(s)}" for s, v in zip(course.shares, course.speeds, strict=True))
        told += _hanging(
            f"{name:<16}{show(course.mean_speed(study.turns), 'rotation', 'rpm', 0):>12}"
            f"{show(course.doff_time(study.turns), 'time', 'min', 0):>9}"
            f"{show_number(3.6e6 * study.production(course), 1):>13}  ",
            corners,
        )
    over, flat = (
        _more(study.gain(study.present), "the setting"),
        _more(study.gain(study.flat), "the best constant speed"),
    )
    saved = study.present.doff_time(study.turns) - study.best.doff_time(study.turns)
    told.append("")
    told += wrap(
        f"The best course makes {over} ({show(abs(saved), 'time', 'min', 1)} "
        f"{'off' if saved >= 0 else 'more for'} each doff), and {flat}.",
        WIDTH,
    )
    return told


def _more(gain: float, other: str) -> str:
    text = show_number(100 * abs(gain), 1)
    if not text.strip("0."):
        return f"as much as {other}"
    return f"{text} % {'more' if gain > 0 else 'less'} than {other}"


def _hanging(head: str, words: str) -> list[str]:
    lines = wrap(words, WIDTH - len(head)) or [""]
    return [head + lines[0], *(" " * len(head) + line for line in lines[1:])]


def _rpm(speed: float) -> str:
    return show_number(round(speed / RPM), 0)


def _share(share: float) -> str:
    return show_number(100 * share, None if abs(100 * share - round(100 * share)) < 1e-6 else 1)


def _breaches(study: CourseStudy) -> list[str]:
    if not study.breaches:
        return []
    return [line for breach in study.breaches for line in wrap(f"First: {breach.words}", WIDTH)] + [""]


def _hold(now: Hold, before: Hold) -> str:
    was = now.words if before is now else before.words.split(";")[0].split(" of ")[0].removeprefix("at most ")
    spans = ", ".join(f"{start / 60:.0f} to {end / 60:.0f}" for start, end in now.holds)
    held = f"; holds the course, minute {spans}" if spans else ""
    return "\n".join(
        wrap(f"  {now.kind.name:<22}{now.words} ({was.split(', minute')[0]}){held}", WIDTH, subsequent_indent=" " * 26)
    )


def _pays(study: CourseStudy) -> list[str]:
    lines = []
    for one in study.relaxations:
        hold = next(hold for hold in study.holds if hold.kind is one.kind)
        owner = f"  ({hold.authority.origin}, {hold.authority.owner})" if hold.authority else ""
        lines.append(f"  {one.kind.name:<22}{percent(one.gain):>8} production{owner}")
    return [*lines, "  the others             nothing: the course does not run at them anywhere"]


def _mind(study: CourseStudy) -> list[str]:
    notes = []
    ring = study.doff.choice.frame.ring
    if study.at_high_friction:
        passed = " and ".join(f"{hold.kind.name.lower()} ({hold.words})" for hold in study.at_high_friction)
        notes.append(
            f"At ring friction {ring.friction_high:g}, the high end of its band, this course would pass {passed}."
        )
    if (
        study.best.speeds[0] > study.present.speeds[0] * 1.005
        or study.best.speeds[-1] > study.present.speeds[-1] * 1.005
    ):
        notes.append(
            "The limits alone call for no slower start or tip. Slow ends spare end breaks after doffing and at the "
            "tip, which no limit here counts: hold them with --start-most and --tip-most if your records show it."
        )
    notes.append(_drive(study.drive))
    notes.append(
        "More speed is more noise, and a new speed is a trial: raise it in steps, watch end breaks and travellers. "
        "Speeds are set by trained people; your mill's rules come first."
    )
    return [line for note in notes for line in wrap(f"  {note}", WIDTH, subsequent_indent="  ")]


def _drive(drive: Drive) -> str:
    ramp = show_number(drive.ramp / RPM)
    usual = "assumed, no reading" if drive.ramp == Drive().ramp else "as asked"
    return f"The drive changes speed by at most {ramp} rpm in a second ({usual}); speeds are told in steps of 10 rpm."
