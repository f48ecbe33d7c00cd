"""The verbs that the doors may ask for: plain input in, plain or frozen results out."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any

from ringwright.physics import limit_masses, solve
from ringwright.refusal import Fault, Refusal
from ringwright.report import position_rows
from ringwright.setting import position_keys

if TYPE_CHECKING:
    from pathlib import Path

    from ringwright.economy.counting import Counted
    from ringwright.improve.better import PartsStudy
    from ringwright.improve.course import CourseStudy
    from ringwright.improve.survey import Survey
    from ringwright.judgement import Judgement
    from ringwright.mill import Mill
    from ringwright.report.card import Card
    from ringwright.setting.choice import Trial
    from ringwright.setting.doff import Comparison
    from ringwright.setting.planned import Plan

# Verbs of a mill import what they need as they are called: a single position must not wait for the mill's models.
# ruff: noqa: PLC0415

__all__ = [
    "DEMO",
    "best_course",
    "card",
    "compare_doffs",
    "improve",
    "init",
    "judged",
    "open_mill",
    "plan",
    "solve_positions",
    "survey",
    "trial",
    "triangle_limit",
]

DEMO = "demo"
"""The word that stands for the Alder Vale demo mill in place of a path."""

Answer = dict[str, Any] | Refusal
Watching = tuple[Callable[[str], None], Callable[[], bool]] | None
"""What hears of a search's progress in words, and what says whether to end it with the best so far."""


def solve_positions(given: Sequence[tuple[str, object]], *, with_limits: bool = False) -> list[Answer]:
    """Solve positions given as (where it stands, its keys); a bad one, or a Refusal, gives a Refusal in its place.

    Results have the keys of ``position_rows.rows``; ``assumed`` names the defaults that stood in for keys left out.
    """
    results: list[Answer] = []
    good: list[dict[str, float]] = []
    places: list[int] = []
    for i, (where, keys) in enumerate(given):
        if isinstance(keys, Refusal):
            results.append(keys)
            continue
        try:
            good.append(position_keys.checked(keys, where))
        except Refusal as refusal:
            results.append(refusal)
            continue
        places.append(i)
        results.append({})
    if not good:
        return results
    inputs = position_keys.positions(good)
    limits = limit_masses(inputs) if with_limits else None
    for place, row in zip(places, position_rows.rows(inputs, solve(inputs), limits), strict=True):
        assumed = _assumed(given[place][1])
        if assumed:
            row["assumed"] = assumed
        results[place] = row
    return results


def _assumed(keys: object) -> dict[str, float]:
    """Name the defaults used whose origin is an assumption."""
    stated: Iterable[Any] = keys if isinstance(keys, dict) else ()
    known = set(stated)
    return {
        key.name: key.default
        for key in position_keys.KEYS
        if key.origin == "assumed" and key.default is not None and key.name not in known
    }


def open_mill(where: str | Mill) -> Mill:
    """Read the mill in a folder or file, or the demo mill for the word 'demo'; Refusal with every fault found.

    A mill that is open already is given back.
    """
    from ringwright.mill import demo_mill_path, read_mill

    if not isinstance(where, str):
        return where
    return read_mill(demo_mill_path() if where == DEMO else where)


def trial(
    *,
    guide_fixed: bool = False,
    no_control_ring: bool = False,
    traveller: str | None = None,
    speed: str | None = None,
    ring_friction: float | None = None,
) -> Trial:
    """Make what is tried in place of the setting from values as people write them ("40 mg", "17000 rpm")."""
    from ringwright.setting.choice import Trial
    from ringwright.units import parse

    faults: list[Fault] = []

    def read(given: str | None, quantity: str, where: str) -> float | None:
        try:
            return None if given is None else parse(given, quantity, where)
        except Refusal as refusal:
            faults.extend(refusal.faults)
            return None

    # A traveller's ISO number is its mass in mg, so that a bare number is understood.
    numbered = (
        f"{traveller} mg" if traveller is not None and traveller.strip().replace(".", "", 1).isdigit() else traveller
    )
    mass, main_speed = read(numbered, "mass", "--traveller"), read(speed, "rotation", "--speed")
    if faults:
        raise Refusal(faults)
    return Trial(
        guide_fixed=True if guide_fixed else None,
        control_ring=not no_control_ring,
        traveller_mass=mass,
        main_speed=main_speed,
        ring_friction=ring_friction,
    )


def compare_doffs(where: str | Mill, frame: str, yarn: str, tried: Trial) -> tuple[Comparison, float | None]:
    """Solve a doff, the same with the guide fixed and without control ring; and the mill's limit on tension (N)."""
    from ringwright.setting.doff import compare_doffs as compared

    mill = open_mill(where)
    shown = compared(mill, frame, yarn, tried)
    return shown, triangle_limit(mill, yarn)


def triangle_limit(mill: Mill, yarn: str) -> float | None:
    """Give the highest tension (N) that the mill allows at the spinning triangle, if it states a share of strength."""
    share = mill.limits.get("strength_share")
    return None if share is None else share.value * mill.yarns[yarn].strength


def plan(where: str, frame: str, yarn: str, order: tuple[float, float] | None = None) -> Plan:
    """Plan a yarn on a frame of a mill, and the frames for an order of (mass [kg], time [s]); refuses as spin_plan."""
    from ringwright.setting.plan import Order, spin_plan

    asked = None if order is None else Order(mass=order[0], time=order[1])
    return spin_plan(open_mill(where), frame, yarn, asked)


def init(folder: str, *, demo: bool = False) -> Path:
    """Write the commented starter mill, or a copy of the demo mill, as a new folder; Refusal if anything is there."""
    from ringwright.mill import write_demo_copy, write_starter

    return write_demo_copy(folder) if demo else write_starter(folder)


def judged(where: str | Mill, frame: str, yarn: str, tried: Trial) -> Judgement:
    """Hold a setting against every limit of its mill."""
    from ringwright.judgement import judge

    return judge(open_mill(where), frame, yarn, tried)


def card(where: str | Mill, frame: str, yarn: str, tried: Trial) -> Card:
    """Make the setting card of a frame and yarn: plan, doff, judgement and the parts around the balloon."""
    from ringwright.judgement import judge
    from ringwright.report.card_filling import CardParts, fill_card
    from ringwright.setting.doff import solve_doff
    from ringwright.setting.plan import spin_plan
    from ringwright.verbs.around import around_lines

    mill = open_mill(where)
    return fill_card(
        CardParts(
            mill=mill,
            plan=spin_plan(mill, frame, yarn, trial=tried),
            doff=solve_doff(mill, frame, yarn, tried),
            judgement=judge(mill, frame, yarn, tried),
            limit=triangle_limit(mill, yarn),
            trial=tried,
            around=around_lines(mill, frame, yarn),
        )
    )


def best_course(
    where: str | Mill, frame: str, yarn: str, tried: Trial, driven: dict[str, Any], limits: Sequence[str] = ()
) -> CourseStudy:
    """Find the best speed through a doff; ``driven`` is read by ``drive_of``, ``limits`` by ``with_limits``."""
    from dataclasses import replace

    from ringwright.improve.asking import drive_of, with_limits
    from ringwright.improve.course import study_course
    from ringwright.setting.doff import solve_doff

    drive, mill = drive_of(**driven), with_limits(open_mill(where), limits)
    doff = solve_doff(mill, frame, yarn, tried)
    rough = None
    if tried.ring_friction is None:
        high = doff.choice.frame.ring.friction_high
        rough = solve_doff(mill, frame, yarn, replace(tried, ring_friction=high))
    return study_course(doff, mill.limits, drive, rough)


def improve(
    where: str | Mill,
    frame: str,
    yarn: str,
    *,
    aim: str,
    keep: Sequence[str] = (),
    limits: Sequence[str] = (),
    watch: Watching = None,
    counted: Counted | None = None,
    **asked: Any,  # noqa: ANN401 - production, candidates and ring_friction as typed
) -> PartsStudy:
    """Seek better parts and speeds for an aim; ``keep`` names parts that stay.

    ``watch`` is what hears of the progress in words, and what says whether to end with the best so far; ``counted``
    are the mill's own break counts, for the cost.
    """
    from dataclasses import replace

    from ringwright.improve.asking import question_of
    from ringwright.improve.better import seek
    from ringwright.improve.watch import NOBODY, Watch

    question = question_of(open_mill(where), frame, yarn, aim=aim, keep=keep, limits=limits, **asked)
    return seek(replace(question, counted=counted), NOBODY if watch is None else Watch(*watch))


def survey(
    where: str | Mill,
    *,
    keep: Sequence[str] = (),
    limits: Sequence[str] = (),
    reach: Sequence[str] = (),
    candidates: int | None = None,
    watch: Watching = None,
) -> Survey:
    """Seek the least cost for every setting of a mill: what to change first on each frame, and what it is worth."""
    from ringwright.improve.asking import question_of
    from ringwright.improve.survey import survey as surveyed
    from ringwright.improve.watch import NOBODY, Watch

    question = question_of(
        open_mill(where), "", "", aim="cost", keep=keep, limits=limits, reach=reach, candidates=candidates
    )
    return surveyed(question, NOBODY if watch is None else Watch(*watch))
