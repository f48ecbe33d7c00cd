"""The verbs that the doors may ask for: plain input in, plain or frozen results out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from ringwright.physics import limit_masses, solve
from ringwright.refusal import Fault, Refusal
from ringwright.report import position_rows
from ringwright.setting import position_keys

if TYPE_CHECKING:
    import threading
    from collections.abc import Callable
    from pathlib import Path

    from ringwright.improve.better import PartsStudy
    from ringwright.improve.course import CourseStudy
    from ringwright.improve.search import Progress
    from ringwright.live.listening import Doors
    from ringwright.mill import Mill
    from ringwright.report.card import Card
    from ringwright.setting.choice import Trial
    from ringwright.setting.doff import Comparison
    from ringwright.setting.planned import Plan
    from ringwright.store import Take

# Verbs of a mill import what they need as they are called: a single position must not wait for the mill's models.
# ruff: noqa: PLC0415

__all__ = [
    "DEMO",
    "best_course",
    "broker_promise",
    "card",
    "check_broker",
    "compare_doffs",
    "improve",
    "init",
    "listen",
    "new_source",
    "open_mill",
    "plan",
    "solve_positions",
    "take",
    "takes",
    "trial",
    "triangle_limit",
    "write_broker",
]

DEMO = "demo"
"""The word that stands for the Alder Vale demo mill in place of a path."""

Answer = dict[str, Any] | Refusal


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


def open_mill(where: str) -> Mill:
    """Read the mill in a folder or file, or the demo mill for the word 'demo'; Refusal with every fault found."""
    from ringwright.mill import demo_mill_path, read_mill

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


def compare_doffs(where: str, frame: str, yarn: str, tried: Trial) -> tuple[Comparison, float | None]:
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


def init(folder: str) -> Path:
    """Write the commented starter mill as a new folder and give its path; Refusal if anything is there already."""
    from ringwright.mill import write_starter

    return write_starter(folder)


def card(where: str, frame: str, yarn: str, tried: Trial) -> Card:
    """Make the setting card of a frame and yarn: plan, doff and judgement on one sheet."""
    from ringwright.judgement import judge
    from ringwright.report.card_filling import CardParts, fill_card
    from ringwright.setting.doff import solve_doff
    from ringwright.setting.plan import spin_plan

    mill = open_mill(where)
    return fill_card(
        CardParts(
            mill=mill,
            plan=spin_plan(mill, frame, yarn, trial=tried),
            doff=solve_doff(mill, frame, yarn, tried),
            judgement=judge(mill, frame, yarn, tried),
            limit=triangle_limit(mill, yarn),
            trial=tried,
        )
    )


def take(file: str, source: str, mill: str, store: str, progress: Callable[[int, int], None]) -> Take:
    """Take a CSV or Parquet file of a source into a store, made new if it is not there; ``demo`` is the demo mill.

    ``progress`` hears the bytes done and all bytes. Refusal if anything cannot be used; nothing is taken then.
    """
    from pathlib import Path

    from ringwright.events.source import read_source
    from ringwright.store import open_store, take_file

    stated, there = read_source(source), open_mill(mill)
    if not Path(file).is_file():
        mend = "Check the path."
        raise Refusal(Fault(where=file, got="not a file that is there", wants="a CSV or Parquet file", mend=mend))
    with open_store(store, new=True) as opened:
        return take_file(Path(file), stated, there, opened, progress)


def takes(store: str) -> list[Take]:
    """List what a store has taken in, first to last."""
    from ringwright.store import open_store

    with open_store(store) as opened:
        return opened.takes()


def new_source(file: str) -> Path:
    """Write a source file to finish beside a CSV file, suggested by its first lines; Refusal if it is there already."""
    from pathlib import Path

    from ringwright.events.new_source import source_text

    path = Path(file).with_suffix(".source.toml")
    try:
        with Path(file).open("rb") as held:
            sample = held.read(65536).decode("utf-8", errors="replace")
        with path.open("x", encoding="utf-8") as written:
            written.write(source_text(Path(file).stem, sample))
    except FileExistsError:
        mend = "Finish it, or move it out of the way."
        raise Refusal(Fault(where=str(path), got="there already", wants="a new file", mend=mend)) from None
    except OSError as error:
        reason = (error.strerror or "unknown reason").lower()
        raise Refusal(Fault(where=error.filename or file, got=reason, wants="a CSV file that can be read")) from None
    return path


def best_course(
    where: str, frame: str, yarn: str, tried: Trial, driven: dict[str, Any], limits: Sequence[str] = ()
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
    where: str,
    frame: str,
    yarn: str,
    *,
    aim: str,
    keep: Sequence[str] = (),
    limits: Sequence[str] = (),
    tell: Progress | None = None,
    **asked: Any,  # noqa: ANN401 - production, candidates and ring_friction as typed
) -> PartsStudy:
    """Seek better parts and speeds for an aim; ``keep`` names parts that stay, ``tell`` hears of the progress."""
    from ringwright.improve.asking import question_of
    from ringwright.improve.better import seek

    return seek(question_of(open_mill(where), frame, yarn, aim=aim, keep=keep, limits=limits, **asked), tell)


def listen(store: str, mill: str, doors: Doors, stop: threading.Event, say: Callable[[str], None]) -> None:
    """Take live events by the doors until ``stop`` is set; ``say`` hears what a person should know."""
    from pathlib import Path

    from ringwright.live.listening import listen as serve

    serve(Path(store), open_mill(mill), doors, stop, say)


def check_broker(file: str) -> None:
    """Hold a mosquitto.conf against what live intake needs; Refusal with every setting that would lose messages."""
    from pathlib import Path

    from ringwright.live.broker import broker_faults

    try:
        text = Path(file).read_text(encoding="utf-8", errors="replace")
    except OSError as error:
        reason = (error.strerror or "unknown reason").lower()
        raise Refusal(Fault(where=file, got=reason, wants="a mosquitto.conf that can be read")) from None
    faults = broker_faults(text, file)
    if faults:
        raise Refusal(faults)


def broker_promise() -> str:
    """Say what a broker cannot promise."""
    from ringwright.live.broker import PROMISE

    return PROMISE


def write_broker(file: str) -> None:
    """Write the tuned settings of a broker as a new file; Refusal if it is there already."""
    from pathlib import Path

    from ringwright.live.broker import tuned_settings

    try:
        with Path(file).open("x", encoding="utf-8") as written:
            written.write(tuned_settings())
    except OSError as error:
        reason = (error.strerror or "unknown reason").lower()
        raise Refusal(Fault(where=file, got=f"not writable ({reason})", wants="the name of a new file")) from None
