"""The verbs about the drive that the doors may ask for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from ringwright.drive.load import SpindleLoad
    from ringwright.drive.whole import DriveTold, ReadRound
    from ringwright.findings.finding import Answer
    from ringwright.mill import Frame, Mill, Power
    from ringwright.report.sheets.sheet import Sheet
    from ringwright.setting.doff import Doff
    from ringwright.store.rounds import Round

# Each verb imports what it needs as it is called: the libraries of statistics load slowly.
# ruff: noqa: PLC0415

__all__ = ["AskedDrive", "drive", "drive_sheet", "load_of", "speed_answers", "spindle_load"]

T = TypeVar("T")
DEMO = "demo"
DEMO_MILL = "Alder Vale Spinning"
AT_WHARVE = ("traveller on ring", "balloon in the air", "yarn on control ring", "drawing the yarn in")


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedDrive:
    """What is asked of the drive, as typed; empty words leave it out.

    ``wharve`` another wharve ("20 mm"); ``readings`` a file of speeds, the word demo, or with ``typed`` the text
    itself; ``rounds`` a store whose last round is judged; ``against`` another frame; ``keep`` a store to keep the round
    in, read ``by`` whom and ``when``.
    """

    wharve: str = ""
    readings: str = ""
    typed: str = ""
    rounds: str = ""
    against: str = ""
    keep: str = ""
    by: str = ""
    when: str = ""


def drive(where: str, names: tuple[str, str], asked: AskedDrive) -> tuple[Sheet, str]:
    """Tell the drive of a frame and yarn (their names) of a mill, and say what was kept; refuses as ``drive_sheet``."""
    from ringwright.verbs.app import open_mill

    mill = open_mill(where)
    told, other = _told(mill, names, asked)
    from ringwright.report.sheets.drive import drive_sheet as sheet_of

    kept = _keep(mill, told, asked) if asked.keep.strip() else ""
    return sheet_of(mill, told, other), kept


def drive_sheet(mill: Mill, frame: str, yarn: str, asked: AskedDrive) -> Sheet:
    """Make the drive's sheet; Refusal for unknown names, a wharve out of range, readings that cannot be read."""
    from ringwright.report.sheets.drive import drive_sheet as sheet_of

    return sheet_of(mill, *_told(mill, (frame, yarn), asked))


def spindle_load(mill: Mill, frame: str, yarn: str) -> SpindleLoad:
    """Give what one spindle asks of its drive at the main speed; Refusal where a place of the doff has no balloon."""
    from ringwright.setting.doff import solve_doff

    return load_of(solve_doff(mill, frame, yarn), mill.power)


def load_of(doff: Doff, power: Power) -> SpindleLoad:
    """Give what one spindle asks of its drive at the main speed of a solved doff; refuses as ``spindle_load``."""
    import numpy as np

    from ringwright.drive.load import SpindleLoad
    from ringwright.economy import energy_by_part

    parts, main = energy_by_part(doff, power).parts, doff.choice.setting.main_speed
    # At one speed places of equal yarn take equal times, so that their mean is the mean over time.
    at_main = np.isclose(doff.places.spindle_speed, main, rtol=1e-6)

    def mean(*names: str) -> float:
        return float(np.sum([parts[name][at_main] for name in names], axis=0).mean())

    return SpindleLoad(
        yarn=mean(*AT_WHARVE), air=mean("cop in the air"), bare=mean("bare spindle and its drive"), speed=main,
        bare_exponent=power.bare_spindle_exponent, efficiency=power.efficiency,
        output=doff.choice.yarn.count * float(doff.places.yarn_speed[at_main].mean()),
    )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class _Given:
    """What was typed, as understood: wharve [m], the other frame, and the text of a round with what to call it."""

    wharve: float | None
    other: Frame | None
    text: str
    name: str


def _given(mill: Mill, names: tuple[str, str], asked: AskedDrive) -> _Given:
    """Understand what was typed before anything is solved; Refusal with every fault of it."""
    from ringwright.mill import setting_for
    from ringwright.refusal import Fault, Refusal

    faults: list[Fault] = []

    def tried(read: Callable[[], T], default: T) -> T:
        try:
            return read()
        except Refusal as refusal:
            faults.extend(refusal.faults)
            return default

    setting_for(mill, *names)
    wharve = tried(lambda: _wharve(asked.wharve), None)
    other = tried(lambda: _other(mill, asked.against.strip()), None)
    text, name = tried(lambda: _round_text(mill, names[0], asked), ("", ""))
    if asked.keep.strip() and not text and not faults:
        mend = "Give them with --readings FILE."
        faults.append(Fault(where="--keep", got="asked for without readings", wants="given with readings", mend=mend))
    if asked.keep.strip() and not asked.by.strip():
        faults.append(Fault(where="--by", got="empty", wants="who read the speeds"))
    if faults:
        raise Refusal(faults)
    return _Given(wharve=wharve, other=other, text=text, name=name)


def _other(mill: Mill, name: str) -> Frame | None:
    from ringwright.refusal import Fault, Refusal, nearest

    if name and name not in mill.frames:
        mend = nearest(name, mill.frames)
        raise Refusal(Fault(where="--against", got=f'"{name}"', wants="the name of a frame of this mill", mend=mend))
    return mill.frames[name] if name else None


def _wharve(text: str) -> float | None:
    from ringwright.mill.field import read_value, stated
    from ringwright.mill.frame import Spindle
    from ringwright.refusal import Fault, Refusal

    if not text.strip():
        return None
    try:
        return read_value(text.strip(), stated(Spindle, "wharve_diameter"), written=True)
    except Refusal as refusal:
        raise Refusal(
            [Fault(where="the wharve", got=one.got, wants=one.wants, mend=one.mend) for one in refusal.faults]
        ) from None


def _round_text(mill: Mill, frame: str, asked: AskedDrive) -> tuple[str, str]:
    """Give the text of the round asked about, empty for none and demo for the demo's, and what to call it."""
    from ringwright.drive.demo_round import planted
    from ringwright.economy.csv_table import text_of

    if asked.typed.strip():
        return asked.typed, "as typed"
    if asked.readings.strip() == DEMO:
        planted(frame)
        return DEMO, f"the demonstration's round of {frame}"
    if asked.readings.strip():
        return text_of(asked.readings.strip()), asked.readings.strip()
    return _kept_text(mill, asked.rounds.strip(), frame) if asked.rounds.strip() else ("", "")


def _told(mill: Mill, names: tuple[str, str], asked: AskedDrive) -> tuple[DriveTold, DriveTold | None]:
    from dataclasses import replace

    from ringwright.drive.frame_drive import drive_frame
    from ringwright.drive.wharves import with_wharve
    from ringwright.drive.whole import told_drive

    given = _given(mill, names, asked)
    load = spindle_load(mill, *names)
    frame, yarn = mill.frames[names[0]], mill.yarns[names[1]]
    if given.wharve is None:
        told = told_drive(frame, yarn, load)
    else:
        # The bolster stays what it is under the wharve that the mill has.
        held = drive_frame(frame, load).bolster
        told = told_drive(with_wharve(frame, given.wharve), yarn, load, bolster=held)
    if given.text:
        told = replace(told, read=_read(mill, told, given))
    if given.other is None:
        return told, None
    return told, told_drive(given.other, yarn, spindle_load(mill, given.other.name, names[1]))


def speed_answers(mill: Mill, records: str, frames: Sequence[str]) -> tuple[Answer, ...]:
    """Judge the last round of speeds that a store keeps of each frame; of the demonstration, its own rounds.

    A round whose yarn is no longer set on its frame is left out: nothing can be said of the drive's load.
    """
    from ringwright.drive.demo_round import demo_round, planted
    from ringwright.drive.frame_drive import drive_frame
    from ringwright.drive.readings import read_speeds
    from ringwright.drive.slow import study_speeds

    found = []
    if records == DEMO:
        # The records are drawn for these frames, whatever the mill's own are called.
        for name in frames:
            if mill.name != DEMO_MILL or name not in ("F1", "F4"):
                continue
            driven = drive_frame(mill.frames[name], spindle_load(mill, name, planted(name).yarn))
            told = read_speeds(
                demo_round(driven), f"the demonstration's round of {name}", driven.frame, driven.load.speed
            )
            found.append(study_speeds(driven, told.by_spindle).answer)
        return tuple(found)
    for name in frames:
        last = _last_round(mill, records, name)
        if last is None or not any((one.frame, one.yarn) == (name, last[1]) for one in mill.settings.values()):
            continue
        driven = drive_frame(mill.frames[name], spindle_load(mill, name, last[1]))
        found.append(study_speeds(driven, last[0]).answer)
    return tuple(found)


def _last_round(mill: Mill, store_path: str, frame: str) -> tuple[dict[int, float], str] | None:
    """Give the speeds by spindle of the last round kept of a frame, and the yarn it was read with."""
    from statistics import median

    from ringwright.store import open_store

    with open_store(store_path) as store:
        rounds = store.rounds(mill.name, "speed", frame=frame)
    if not rounds:
        return None
    by_spindle: dict[int, list[float]] = {}
    for one in rounds[-1].readings:
        by_spindle.setdefault(int(one["spindle"]), []).append(float(one["speed"]))
    yarn = str(rounds[-1].readings[0]["yarn"]) if rounds[-1].readings else ""
    return {spindle: float(median(speeds)) for spindle, speeds in by_spindle.items()}, yarn


def _read(mill: Mill, told: DriveTold, given: _Given) -> ReadRound:
    """Read a round and hold it to the model."""
    from ringwright.drive.demo_round import demo_round, planted_words
    from ringwright.drive.readings import read_speeds
    from ringwright.drive.slow import study_speeds
    from ringwright.drive.whole import ReadRound

    frame, demo = told.frame.name, given.text == DEMO
    text = demo_round(told.driven) if demo else given.text
    found = read_speeds(text, given.name, mill.frames[frame], told.driven.load.speed)
    study = study_speeds(told.driven, found.by_spindle)
    return ReadRound(
        source=given.name, round=found, study=study, text=text, planted=planted_words(frame) if demo else ""
    )


def _kept_text(mill: Mill, store_path: str, frame: str) -> tuple[str, str]:
    """Give the text of the last round that a store keeps of a frame, and what to call it."""
    from ringwright.refusal import Fault, Refusal
    from ringwright.store import open_store

    with open_store(store_path) as store:
        rounds = store.rounds(mill.name, "speed", frame=frame)
    if not rounds:
        mend = "Keep one first, with --readings FILE --keep STORE."
        raise Refusal(Fault(where=store_path, got=f"without a round of speeds of {frame}", wants="one", mend=mend))
    return rounds[-1].text, f"round {rounds[-1].number} of {rounds[-1].day}, {rounds[-1].source}"


def _keep(mill: Mill, told: DriveTold, asked: AskedDrive) -> str:
    """Keep the round in a store; gives the sentence of what was done."""
    from ringwright.events.when import read_when
    from ringwright.refusal import Fault, Refusal
    from ringwright.store import Round, open_store

    assert told.read is not None  # noqa: S101 - what was typed was looked at before
    readings = tuple(
        {"line": one.line, "spindle": one.spindle, "speed": one.speed, "yarn": told.yarn.name}
        | ({} if one.when_us is None else {"when_us": one.when_us})
        for one in told.read.round.readings
    )
    last = max((one.when_us for one in told.read.round.readings if one.when_us is not None), default=None)
    if not asked.when.strip() and last is None:
        wants = 'the day or moment of the round, as "2026-04-01", since no row has a moment'
        raise Refusal(Fault(where="--when", got="empty", wants=wants))
    made: Round = Round(
        kind="speed", frame=told.frame.name,
        read_us=read_when(asked.when, "--when") if asked.when.strip() else last or 0,
        by=asked.by.strip(), source=told.read.source, text=told.read.text, readings=readings,
        set_aside=told.read.round.set_aside,
    )  # fmt: skip
    with open_store(asked.keep.strip(), new=True) as store:
        kept, new = store.keep_round(mill.name, made)
    word = "Kept as" if new else "Was there already as"
    return (
        f"{word} round {kept.number} of {told.frame.name}: {len(readings)} readings, {len(made.set_aside)} set aside."
    )
