"""The verbs about separators: records simulated over the plates, and the study of the floor records asked of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np

    from ringwright.cascade import Plates, SideRun, Watch
    from ringwright.cascade.watched import Drawn, Rates, Watched
    from ringwright.findings.finding import Answer
    from ringwright.mill import Frame, Mill
    from ringwright.refusal import Fault
    from ringwright.report.sheets.sheet import Sheet

# Each verb imports what it needs as it is called: the studies' libraries take their time.
# ruff: noqa: PLC0415

__all__ = ["AskedSeparators", "separators", "separators_sheet", "watched"]

HOUR: Final = 3600.0
RUNS: Final = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedSeparators:
    """What is asked of the separators, as typed: the spindle before each missing or bent plate, several with commas.

    Without any, one plate is taken out in the middle of side 1. ``rate`` is in breaks per 1000 spindle hours,
    ``strike`` the share of breaks that strike over the plate asked for ("40 %"); empty words leave what the mill has.
    """

    missing: str = ""
    bent: str = ""
    rate: str = ""
    strike: str = ""
    seed: int = 1


def separators(where: str, names: tuple[str, str], asked: AskedSeparators) -> Sheet:
    """Tell the separators of a frame and yarn (their names) of a mill; refuses as ``separators_sheet``."""
    from ringwright.verbs.app import open_mill

    return separators_sheet(open_mill(where), *names, asked)


def separators_sheet(mill: Mill, frame: str, yarn: str, asked: AskedSeparators) -> Sheet:
    """Make the separators' sheet; Refusal for unknown names and, all together, for what was typed."""
    from ringwright.cascade import clearance_of, plates_of
    from ringwright.mill import setting_for
    from ringwright.report.sheets.separators import Told
    from ringwright.report.sheets.separators import separators_sheet as sheet_of

    setting_for(mill, frame, yarn)
    missing, bent, rate, strike = _read(asked)
    machine = _with_strike(mill.frames[frame], strike, bent=bool(bent) and not missing)
    if not (missing or bent) and machine.separators.fitted:
        missing = [machine.spindles // machine.sides // 2]
    plates = plates_of(machine, missing, bent)
    of_spindle = (mill.money.breaks_per_1000_spindle_hours if rate is None else rate) / 1000 / HOUR
    seen = watched(machine, plates, of_spindle, mill.shift_length, asked.seed) if plates.faults else None
    return sheet_of(
        Told(
            mill=mill, frame=machine, clearance=clearance_of(mill, frame, yarn), plates=plates, rate=of_spindle,
            watch=_watch(machine), watched=() if seen is None else seen[0], drawn=None if seen is None else seen[1],
            rates=_rates(machine, plates, of_spindle, asked.seed), typed_rate=rate is not None,
            typed_strike=strike is not None,
        )
    )  # fmt: skip


def _read(asked: AskedSeparators) -> tuple[list[int], list[int], float | None, float | None]:
    """Read what was typed; Refusal with every fault."""
    from ringwright.refusal import Fault, Refusal
    from ringwright.units import parse

    faults: list[Fault] = []

    def numbers(text: str, where: str) -> list[int]:
        words = [word.strip() for word in text.split(",") if word.strip()]
        wrong = [word for word in words if not word.isdecimal()]
        faults.extend(
            Fault(where=where, got=f'"{word}"', wants="the number of the spindle before the plate, as 215")
            for word in wrong
        )
        return [int(word) for word in words if word.isdecimal()]

    def number(text: str, quantity: str, where: str, span: tuple[float, float], words: str) -> float | None:
        if not text.strip():
            return None
        try:
            value = parse(text, quantity, where)
        except Refusal as refusal:
            faults.extend(refusal.faults)
            return None
        if not span[0] <= value <= span[1]:
            faults.append(Fault(where=where, got=f'"{text}"', wants=words))
        return value

    missing, bent = numbers(asked.missing, "missing plates"), numbers(asked.bent, "bent plates")
    rate = number(asked.rate, "ratio", "own breaks per 1000 spindle hours", (0.1, 2000), "from 0.1 to 2000")
    strike = number(asked.strike, "share", "share that strikes", (0.001, 0.95), "from 0.1 % to 95 %")
    if faults:
        raise Refusal(faults)
    return missing, bent, rate, strike


def _with_strike(frame: Frame, strike: float | None, *, bent: bool) -> Frame:
    """Put a tried share of strikes into the frame; the shares stay in their order."""
    if strike is None:
        return frame
    old = frame.strikes
    new = {"bent_share": strike, "missing_share": max(strike, old.missing_share)} if bent else {
        "missing_share": strike, "bent_share": min(old.bent_share, strike)}  # fmt: skip
    new["plate_share"] = min(old.plate_share, strike)
    return frame.model_copy(update={"strikes": old.model_copy(update=new)})


def _watch(frame: Frame) -> Watch:
    """Give the study's own rules as the closed forms need them."""
    from ringwright.cascade import Watch
    from ringwright.study.separators import FALSE_SHARE, WINDOW_S

    of_side = frame.spindles // frame.sides
    return Watch(boundaries=frame.sides * (of_side - 1), spindles=of_side, window=WINDOW_S, false_share=FALSE_SHARE)


def watched(
    frame: Frame, plates: Plates, rate: float, shift: float, seed: int, runs: int = RUNS
) -> tuple[tuple[Watched, ...], Drawn]:
    """Draw records of a frame again and again, ask the study of them, and count how often each fault is named.

    ``rate`` [1/s] of own breaks of a spindle, ``shift`` [s]. The same seed gives the same runs.
    """
    import numpy as np

    from ringwright.cascade import chance_named, steps_to_name
    from ringwright.cascade.watched import Watched

    watch, strikes = _watch(frame), frame.strikes
    chances = [float(plates.chances[side][place]) for side, place in (plates.where(n) for n, _ in plates.faults)]
    slowest = max(steps_to_name(rate, chance, strikes.delay, shift, watch) or 200 for chance in chances)
    steps = tuple(sorted({max(1, round(slowest * part)) for part in (0.25, 0.5, 1.0, 2.0)}))
    rng = np.random.default_rng(seed)
    found = np.zeros((len(plates.faults), len(steps)), dtype=int)
    false = np.zeros(len(steps), dtype=int)
    kept = []
    for _ in range(runs):
        sides = _drawn(frame, plates, rate, steps[-1] * shift, rng)
        for k, many in enumerate(steps):
            answers = _asked(frame, [side.until(many * shift) for side in sides])
            named = [one.spindles[0] for answer in answers for one in answer.findings]
            for j, (spindle, _) in enumerate(plates.faults):
                found[j, k] += spindle in named
            false[k] += len(set(named) - {spindle for spindle, _ in plates.faults})
        kept.append((sides, answers))
    told = tuple(
        Watched(
            spindle=spindle, state=state, shifts=steps, runs=runs, found=tuple(found[j].tolist()),
            false=tuple(false.tolist()),
            expected=tuple(chance_named(rate, chances[j], strikes.delay, many * shift, watch) for many in steps),
        )
        for j, (spindle, state) in enumerate(plates.faults)
    )  # fmt: skip
    return told, _middling(plates, kept)


def _middling(plates: Plates, kept: Sequence[tuple[list[SideRun], list[Answer]]]) -> Drawn:
    """Give the run with the middle number of breaks at the first faulty plate, and what the study says of it."""
    from ringwright.cascade.watched import Drawn

    side, place = plates.where(plates.faults[0][0])

    def breaks(run: tuple[list[SideRun], list[Answer]]) -> int:
        at = run[0][side].place - 1 - place
        return int(((at == 0) | (at == 1)).sum())

    sides, answers = sorted(kept, key=breaks)[len(kept) // 2]
    return Drawn(side=sides[side], first=side * plates.of_side + 1, sentences=tuple(one.sentence for one in answers))


def _drawn(frame: Frame, plates: Plates, rate: float, length: float, rng: np.random.Generator) -> list[SideRun]:
    from ringwright.cascade import run_side

    strikes = frame.strikes
    return [
        run_side(chances, rate, length, rng, delay=strikes.delay, down_time=strikes.down_time)
        for chances in plates.chances
    ]


def _asked(frame: Frame, sides: Sequence[SideRun]) -> list[Answer]:
    from ringwright.study.separators import SideBreaks, separators_that_leak

    return separators_that_leak(
        [
            SideBreaks(
                frame=frame.name, side=k + 1, first=k * one.spindles + 1, spindles=one.spindles, places=one.place,
                times=(one.time * 1e6).astype("int64"),
            )
            for k, one in enumerate(sides)
        ]
    )  # fmt: skip


def _rates(frame: Frame, plates: Plates, rate: float, seed: int) -> tuple[Rates, ...]:
    """Draw a long run for each state of the plates: all there, as asked, and none at all."""
    import numpy as np

    from ringwright.cascade import cluster_mean, run_side
    from ringwright.cascade.watched import Rates

    strikes, of_side = frame.strikes, plates.of_side
    whole = np.full(of_side - 1, strikes.plate_share)
    none = np.full(of_side - 1, strikes.missing_share)
    listed = [("all plates there", whole, cluster_mean(strikes.plate_share)),
              ("no plates at all", none, cluster_mean(strikes.missing_share))]  # fmt: skip
    if plates.faults:
        side, _ = plates.where(plates.faults[0][0])
        asked = plates.chances[side]
        more = 2 * float(np.sum(asked - whole)) / of_side
        listed.insert(1, (f"side {side + 1} as asked", asked, cluster_mean(strikes.plate_share) + more))
    length = 20000 / (rate * of_side)
    told = []
    for name, chances, mean in listed:
        run = run_side(chances, rate, length, np.random.default_rng(seed), delay=strikes.delay,
                       down_time=strikes.down_time)  # fmt: skip
        all_breaks = rate * mean
        up = 1 / (1 + all_breaks * strikes.down_time)  # an end that is down cannot break
        told.append(
            Rates(name=name, drawn=len(run.time) / (of_side * length), expected=all_breaks * up,
                  largest=int(run.cluster_sizes.max()))
        )  # fmt: skip
    return tuple(told)
