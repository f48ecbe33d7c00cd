"""The sheet of centring: what the rails have in common, the single spindles to correct, drift, and the pointer."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from ringwright.centring.card import SMALL
from ringwright.centring.effect import AGREES, TESTED, Effects, Grade
from ringwright.centring.found import Found
from ringwright.centring.naming import threshold
from ringwright.centring.words import COMMON_PRACTICE, answer, day_after, due_of, mm
from ringwright.judgement.cautions import cautions
from ringwright.mill import origin_of
from ringwright.report.number import digits, shown_in
from ringwright.report.sheets.centring_pictures import cloud_figure, map_figure
from ringwright.report.sheets.centring_tables import centring_tables
from ringwright.report.sheets.sheet import Picture, Row, Sheet
from ringwright.sources.bibliography import bibliography
from ringwright.units import chosen, show
from ringwright.units.showing import show_number

__all__ = ["centring_sheet"]

COMPUTED = "computed"
MOST_ASIDE = 30
SWING = "at the guide, either way once in each turn, in the middle one of the doff's places"
AGAINST = (
    "Offsets are those of the part's centre from the spindle's axis: along the frame towards higher numbers, and to "
    "the front."
)
UNREAD = "A part that was not read at a spindle is taken as centred in its swing."
NO_STRETCH = "The linear answer takes a yarn that does not stretch; one that does swings less, or more, by the place."
NO_STEPS = "A side's common offset is a straight line; a step between two lengths of rail is seen on the map only."
WORKS = ("all work past the guards", "changing or setting rings", "setting control rings", "work on")


def centring_sheet(found: Found) -> Sheet:
    """Tell a round of centring, with what came before it, on one sheet."""
    judged = found.judged
    ring = [count.part for count in judged.counts if count.part == "ring"]
    pictures = [Picture(title=f"The {one.part}s along the frame", svg=map_figure(judged, one.part),
                        words=_map_words(found, one.part), headed=True) for one in judged.counts]  # fmt: skip
    pictures += [Picture(title="The rings of each side", svg=cloud_figure(judged, part),
                         words=_map_words(found, part), headed=True) for part in ring]  # fmt: skip
    return Sheet(
        title=f"Centring, {found.frame.name} with {found.yarn}",
        answer=answer(found),
        rows=(*_round_rows(found), *_effect_rows(found), *_side_rows(found), _target_row(found), *_drift_rows(found)),
        tables=tuple(table for table in centring_tables(found) if table.rows),
        pictures=tuple(pictures),
        warnings=_warnings(found),
        notes=_notes(found),
        sources=_sources(),
        cautions=_cautions(found),
    )


def _map_words(found: Found, part: str) -> str:
    count = next(one for one in found.judged.counts if one.part == part)
    return (
        f"{part.capitalize()}: {count.read} spindles read, {count.over} beyond {mm(count.tolerance)}, {count.named} of "
        "them for certain."
    )


def _row(name: str, value: float, unit: tuple[str, str], step: float, origin: str = COMPUTED, note: str = "") -> Row:
    """Make a row of an SI value shown in a unit (quantity, symbol)."""
    quantity, symbol = unit
    text, symbol = shown_in(value, quantity, symbol, step) if math.isfinite(value) else ("not known", chosen(symbol))
    raw = value if math.isfinite(value) else None
    return Row(name=name, value=text, unit=symbol, origin=origin, raw=raw, note=note)


def _origin(found: Found, key: str) -> str:
    word, note = origin_of(found.frame, f"centring.{key}")
    return f"{word}, {note}" if note else word


MM = ("length", "mm")
CN = ("force", "cN")


def _round_rows(found: Found) -> list[Row]:
    given, stated = found.judged.round, found.frame.centring
    rows = [
        Row(name="Offsets read", value=show_number(given.readings), unit="", origin=f"measured, {found.origin}",
            raw=float(given.readings), note=f"round of {day_after(found.read_us, 0.0)}"),
        Row(name="Rows set aside", value=show_number(len(given.set_aside)), unit="", origin="measured",
            raw=float(len(given.set_aside)), note="each with its line and reason, below" if given.set_aside else ""),
        _row("Gauge: deviation of one reading", stated.gauge_repeatability, MM, 0.001,
             _origin(found, "gauge_repeatability")),
    ]  # fmt: skip
    if given.repeats:
        used = "used, as it shows more" if given.repeatability > stated.gauge_repeatability else "agrees or shows less"
        rows.append(_row("Gauge: from places read again", given.repeats_show, MM, 0.001,
                         note=f"{given.repeats} differences; {used}"))  # fmt: skip
    for count in found.judged.counts:
        key = f"{count.part.replace(' ', '_')}_tolerance"
        limit = threshold(count.tolerance, given.repeatability, given.readings)
        rows.append(_row(f"Tolerance of the {count.part}", count.tolerance, MM, 0.01, _origin(found, key),
                         note=f"named from {mm(limit)} read once"))  # fmt: skip
    return rows


def _effect_rows(found: Found) -> list[Row]:
    rows = []
    for one in found.parts:
        small = min(SMALL, one.valid) if math.isfinite(one.valid) else SMALL
        still = show(small * one.still, "force", "cN", 2)
        rows += [
            _row(f"{one.part.capitalize()} {mm(small)} off: tension swings by",
                 small * one.usual, CN, 0.01, note=f"{SWING}, linear"),
            _row(f"{one.part.capitalize()} {mm(small)} off: where it answers most", small * one.swing, CN, 0.01,
                 note=f"{_place(found, one.place)}; quasi-static estimate {still}"),
            _row(f"{one.part.capitalize()}: yarn stops from", one.usual_valid, MM, 0.01,
                 note=f"in the middle one of the places, from {mm(one.valid)} in the first of all: the yarn then "
                 "stands on the traveller for part of each turn"),
        ]  # fmt: skip
    for name, swing in zip(("full cop", "bare tube"), found.kinematic, strict=True):
        told = f"Hand formula, {name}: tension swings by"
        note = "winding tension, ring at its tolerance; for comparison only: geometry, no inertia, no balloon"
        rows.append(_row(told, swing, ("share", "%"), 0.01, note=note))
    return rows


def _place(found: Found, place: int) -> str:
    places = found.answering.doff.places
    minute, whole = places.time[place] / 60, found.answering.doff.problem.doff_time / 60
    return f"minute {digits(minute, 1.0)} of {digits(whole, 1.0)}, wound on {mm(places.winding_diameter[place])}"


def _side_rows(found: Found) -> list[Row]:
    """Tell what half of each side's spindles bear, and at how many the yarn stops for part of each turn."""
    judged, rows = found.judged, []
    for name, effects in (("as read", judged.effects), ("once mended", _mended(found))):
        if effects is None or (name != "as read" and not (judged.shifts or judged.corrections)):
            continue
        for side in range(1, judged.sides.sides + 1):
            at = judged.sides.numbers(side) - 1
            swing = effects.usual[at]
            if not np.isfinite(swing).any():
                continue
            many = int(np.isfinite(swing).sum())
            stopping = [int((grade[at] >= Grade.STOPS).sum()) for grade in (effects.usual_grade, effects.grade)]
            past = int((effects.grade[at] == Grade.BEYOND).sum())
            note = (
                f"in the middle one of the doff's places; the yarn stops in each turn at {stopping[0]} of {many} "
                f"spindles there and at {stopping[1]} in the worst place, at {past} of them more than {TESTED:.0f} "
                "times that far off"
            )
            rows.append(_row(f"Side {side} {name}: half swing over", float(np.nanmedian(swing)), CN, 0.01, note=note))
    return rows


def _mended(found: Found) -> Effects | None:
    """Give the effects of what stays, the spindles on the list taken as centred."""
    after = found.judged.after
    if after is None:
        return None
    done = [one.spindle - 1 for one in found.judged.corrections]
    usual, grades = after.usual.copy(), after.grades.copy()
    usual[done], grades[done] = 0.0, Grade.LINEAR
    return replace(after, usual=usual, grades=grades)


def _target_row(found: Found) -> Row:
    target = found.target
    return _row(
        "Pointer inside the eyelet's inner edge by",
        target.middle, MM, 0.01,
        note=f"pointer on the spindle's axis, edge on the front rollers' side; {mm(target.least)} to {mm(target.most)} "
        f"through the doff; eyelet {mm(target.bore)} wide "
        f"({_origin(found, 'eyelet_bore').split(',')[0]}), yarn {mm(target.yarn_diameter)}",
    )  # fmt: skip


def _drift_rows(found: Found) -> list[Row]:
    first = due_of(found.drifts)
    if first is None:
        return [Row(name="Next round due", value="not known", unit="", origin="common practice, from memory",
                    note=f"one round only says nothing of drift; {COMMON_PRACTICE}")]  # fmt: skip
    ends = [day_after(found.read_us, wait) for wait in (first.wait, first.wait_low, first.wait_high)]
    share = show(found.frame.centring.share_outside, "share", "%")
    note = (
        f"{ends[1]} to {ends[2]} (95 %); then {share} of the {first.part}s stand beyond their tolerance, if they "
        "wander as they did and the list is done"
    )
    raw = first.wait if math.isfinite(first.wait) else None
    return [Row(name="Next round due", value=ends[0], unit="", origin=COMPUTED, raw=raw, note=note)]


def _warnings(found: Found) -> tuple[str, ...]:
    judged = found.judged
    told = []
    listed = len(judged.corrections)
    stops, past = (sum(one.grade is grade for one in judged.corrections) for grade in (Grade.STOPS, Grade.BEYOND))
    if stops:
        told.append(
            f"At {stops} of the {listed} spindles to correct the yarn stops on the traveller for part of each turn. "
            f"Their peak is the linear answer's, which the motion in time bore out to {100 * AGREES:.0f} %."
        )
    if past:
        told.append(
            f"At {past} of the {listed} spindles to correct the yarn stops for a longer part of each turn, or leaves "
            "the control ring. Told is what their tension rises to at least; the linear number sets their order, and "
            "ringwright centring --in-time tells more of one spindle."
        )
    told += [note for note in found.answering.doff.notes if "steady" in note]
    told += judged.round.notes
    aside = judged.round.set_aside
    told += [one.reason for one in aside[:MOST_ASIDE]]
    if len(aside) > MOST_ASIDE:
        told.append(f"{len(aside) - MOST_ASIDE} more rows are set aside; --json and --out tell them all.")
    return tuple(told)


def _notes(found: Found) -> tuple[str, ...]:
    stated = found.frame.centring
    unread = [one.part for one in found.parts if one.part not in {count.part for count in found.judged.counts}]
    moved, rise = _origin(found, "moved"), _origin(found, "numbers_rise").split(",")[0]
    frame_notes = (
        f"What is moved to bring spindle and ring together is the {stated.moved} ({moved}); numbers rise "
        f"{stated.numbers_rise} before side 1 ({rise})."
    )
    notes = [AGAINST, frame_notes, UNREAD, NO_STRETCH, NO_STEPS]
    if unread and found.judged.counts:
        notes.append(f"Not read in this round: {' and '.join(unread)}.")
    return tuple(notes)


def _sources() -> tuple[str, ...]:
    return (
        "Tolerances and the time between rounds: common practice, from memory, no source.",
        "Swing of the tension: this program's own linear answer of balloon, traveller and yarn; no published table.",
        f"By geometry alone: derived here on Krause's formula; {bibliography()['Klein-1987']}.",
        "Pointer and drift: derived here; no published source.",
    )


def _cautions(found: Found) -> tuple[str, ...]:
    known = cautions(found.frame, found.answering.choice.yarn)
    return tuple(one.words for one in known if any(one.work.startswith(work) for work in WORKS))
