"""Fill the setting card from plan, doff and judgement: which number stands where, and what it came from."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from ringwright import __version__
from ringwright.judgement import Judgement, cautions
from ringwright.judgement import Room as JudgedRoom
from ringwright.mill import Mill, origin_of
from ringwright.physics import solve
from ringwright.report.card import BigSetting, Card, Caution, Reading, Row, Source, Statement, Wheel
from ringwright.report.doff_figures import tension_figure
from ringwright.report.limits_chart import Room
from ringwright.report.number import Number, Origin
from ringwright.report.position_filling import drawn_place, mill_number, position_figure
from ringwright.setting.choice import AS_SET, Choice, Trial, choose
from ringwright.setting.doff import Doff
from ringwright.setting.figure import Figure
from ringwright.setting.planned import Plan
from ringwright.setting.problem import positions
from ringwright.setting.wheels import WheelPlan
from ringwright.sources import Source as Entry
from ringwright.sources import bibliography
from ringwright.units import NARROW_SPACE, in_unit, show

__all__ = ["CardParts", "chart_room", "fill_card"]

MOMENTS = ((0.3, "foot"), (0.3, "top"), (0.85, "foot"))
"""Where the tension meter is held: share of the doff's time, and part of the stroke."""
ROOMS_MOST = 7
NEARLY = 0.9
"""Share of the limit on slip that is used from which the card tells it."""
NOTES_MOST = 2
FIT = "fit"
"""Key of the card's source for what was fitted to the frame's own tension readings."""
_SHORT = {"spindle_speed": "Spindle rule", "separator_room": "Separator", "lift_off_force": "Lift-off"}
"""Names of limits that would run into their bars, made shorter."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CardParts:
    """What a card is made of; all of one frame, yarn and trial."""

    mill: Mill
    plan: Plan
    doff: Doff
    judgement: Judgement
    limit: float | None
    """Highest tension at the spinning triangle that the mill allows [N]."""
    trial: Trial = AS_SET
    day: date | None = None
    around: tuple[str, ...] = ()
    """What to see to at the parts around the balloon, for the setting as the mill has it."""


def fill_card(parts: CardParts) -> Card:
    """Fill the card; raises ValueError only for a fault of ours (a number whose source is not listed)."""
    plan, doff, mill = parts.plan, parts.doff, parts.mill
    frame, yarn, setting = doff.choice.frame, doff.choice.yarn, doff.choice.setting
    big, settings = _big(parts), _settings(parts)
    wheels = [_wheel(wheel, name, of) for wheel, name, of in _wheels(plan)]
    first, *_ = cautions(frame, yarn)
    act, reach = first.act.split(" before ", maxsplit=1)
    spindles = show(frame.spindles, "ratio", "1", 0)
    return Card(
        mill=mill.name,
        frame=frame.name,
        yarn=yarn.name,
        setting=setting.name + _tried(parts.trial),
        subtitle=f"{spindles} spindles, {show(frame.ring.diameter, 'length', 'mm', 0)} rings, {frame.drive.kind}",
        interval_spans=parts.judgement.band,
        tension=tension_figure(doff, limit=parts.limit),
        checks=_checks(doff, parts.around),
        cautions=_mind(parts),
        stop=Caution(act=act, rest=f"before {reach}. {first.harm} {first.rules}"),
        block=_block(parts),
        big=big,
        position=position_figure(doff, mill.rovings[setting.roving], drawn_place(doff)),
        settings=settings,
        wheels=wheels,
        rooms=[chart_room(room) for room in _told_rooms(parts.judgement.rooms)],
        readings=_readings(parts),
        sources=_sources(parts, settings, wheels, big),
        made_by=f"Ringwright {__version__}, inputs {_fingerprint(parts)}",
    )


def _number(figure: Figure, unit: str = "", step: float | None = None) -> Number:
    source = figure.sources[0] if figure.sources else ""
    return Number(value=figure.value, unit=unit or figure.unit, origin=Origin(figure.origin), source=source, step=step)


def _big(parts: CardParts) -> list[BigSetting]:
    plan, doff = parts.plan, parts.doff
    choice, motion, turns = doff.choice, plan.traveller_motion, plan.twist
    usual = ""
    if motion.usual_lightest is not None and motion.usual_heaviest is not None:
        masses = (in_unit(f.value, "mass", "mg") for f in (motion.usual_lightest, motion.usual_heaviest))
        usual = f"usual for the count: {' to '.join(f'{round(mass, 1):g}' for mass in masses)}"
    tpi, tm = _plain(turns.twist.value, "twist", "tpi", 1), _plain(turns.multiplier.value, "twist multiplier", "TM", 2)
    spun = choice.yarn.twist_direction
    traveller = (
        mill_number(choice.traveller, "mass", "mg")
        if parts.trial.traveller_mass is None
        else Number(value=choice.traveller.mass, unit="mg", origin=Origin.ASSUMED)
    )
    speed = (
        mill_number(choice.setting, "main_speed", "rpm")
        if parts.trial.main_speed is None
        else Number(value=choice.setting.main_speed, unit="rpm", origin=Origin.ASSUMED)
    )
    contraction = _plain(turns.contraction.value, "share", "%", 1)
    content = _plain(doff.problem.content, "mass", "g", 0)
    time = Number(value=doff.problem.doff_time, unit="min", origin=Origin.COMPUTED)
    return [
        BigSetting(name="Traveller", number=traveller, note=usual),
        BigSetting(name="Spindle speed", number=speed, note="main part of the doff"),
        BigSetting(name="Twist", number=_number(turns.twist), note=f"{tpi} tpi, {tm} TM, {spun}"),
        BigSetting(name="Total draft", number=_number(plan.draft.total, "times"), note=f"contraction {contraction} %"),
        BigSetting(name="Doff", number=time, note=f"{content} g on each spindle"),
    ]


def _plain(value: float, quantity: str, unit: str, digits: int) -> str:
    return f"{in_unit(value, quantity, unit):.{digits}f}"


def _settings(parts: CardParts) -> list[Row]:
    plan, doff = parts.plan, parts.doff
    frame, choice, p = doff.choice.frame, doff.choice, plan.production
    motion = plan.traveller_motion
    ring = frame.ring
    rows = [
        Row(name="Delivery, main part", value=_number(plan.speeds.main.delivery, "m/min")),
        Row(name="Production of a spindle", value=_number(p.per_spindle, "g/h")),
        Row(name="Rail stroke", value=mill_number(frame, "build.chase", "mm")),
        Row(name="Travel of the ring rail", value=mill_number(frame, "build.lift", "mm")),
        Row(name="Traveller speed", value=_number(motion.speed_on_cop, "m/s")),
        Row(name="Traveller", value=_statement(choice.traveller.profile)),
        Row(name="Roving bobbin lasts", value=_number(plan.roving_supply.run_out_time, "h")),
        *_to_set(plan),
    ]
    fit = {"source": FIT} if "ring friction" in _fitted(choice) else {}
    friction = mill_number(frame, "ring.friction", "1", low=ring.friction_low, high=ring.friction_high, **fit)
    if parts.trial.ring_friction is not None:
        friction = Number(value=ring.friction, unit="1", origin=Origin.ASSUMED)
    return [*rows, Row(name="Ring friction coefficient", value=friction)]


def _statement(words: str) -> Statement:
    first, _, _ = words.partition(",")
    return Statement(words=first or "not stated", origin=Origin.MEASURED)


def _to_set(plan: Plan) -> list[Row]:
    """Give the rows of a frame without change wheels; total draft and twist stand large on the card already."""
    values = plan.to_set
    if values is None:
        return []
    return [
        Row(name="Break draft to set", value=_number(values.break_draft, "times", step=0.001)),
        Row(name="Front roller, main speed", value=_number(values.front_roller, "rpm", step=0.1)),
    ]


def _wheels(plan: Plan) -> Iterable[tuple[WheelPlan, str, str]]:
    wheels = plan.wheels
    if wheels is None:
        return ()
    return (
        (wheels.total_draft, "Draft wheel", "count"),
        (wheels.break_draft, "Break wheel", "draft"),
        (wheels.twist, "Twist wheel", "twist"),
    )


def _wheel(plan: WheelPlan, name: str, of: str) -> Wheel:
    best = plan.best
    gives = best.makes if of == "twist" else best.gives
    unit = "t/m" if of == "twist" else "times"
    return Wheel(
        name=name,
        teeth=_number(best.teeth, "teeth"),
        gives=_number(gives, unit, step=0.01 if of == "draft" else None),
        leaves=_number(best.error, "%", step=0.01),
        leaves_in=of,
    )


def _told_rooms(judged: Iterable[JudgedRoom]) -> list[JudgedRoom]:
    """Choose the nearest limits; of two that hold the same thing (as two limits on speed) only the nearer one."""
    told: list[JudgedRoom] = []
    for room in judged:
        if room.key == "drive_slip" and (room.used or 0.0) < NEARLY:
            continue  # no setting moves it, so it takes a line of the card only where the workshop should look
        group = room.key.split("_")[0]
        if room.room is not None and all(group != other.key.split("_")[0] for other in told):
            told.append(room)
    return told[:ROOMS_MOST]


def chart_room(judged: JudgedRoom) -> Room:
    """Give a room of the judgement as the chart of limits takes it."""
    if judged.room is None or judged.place is None or judged.used is None:
        return Room(name=_SHORT.get(judged.key, judged.name), not_met=judged.not_met)
    low, high = judged.used_interval or (None, None)
    known = judged.unit not in {"rpm", "m/s"}
    place = judged.place
    part = f"{place.part} of a stroke" if place.part in {"foot", "top"} else f"on a stroke's {place.part}"
    return Room(
        name=_SHORT.get(judged.key, judged.name),
        moment="the whole doff" if place.throughout else f"minute {place.time / 60:.0f}, {part}",
        room=Number(
            value=judged.room,
            unit=judged.unit,
            origin=Origin.COMPUTED,
            low=judged.low,
            high=judged.high,
            step=0.1 if known else None,
        ),
        used=judged.used,
        used_low=low,
        used_high=high,
        more=judged.kind.more,
    )


def _readings(parts: CardParts) -> list[Reading]:
    """Give the guide tension to expect at three moments, with the span that the ring's friction makes."""
    doff, ring = parts.doff, parts.doff.choice.frame.ring
    chosen = np.array([_moment(doff, share, part) for share, part in MOMENTS])
    there = doff.places.take(chosen)
    frictions = () if parts.trial.ring_friction is not None else (ring.friction_low, ring.friction_high)
    ends = [solve(positions(_with_friction(parts, f), there)).guide_tension for f in frictions]
    rows = []
    for k, (index, (_, part)) in enumerate(zip(chosen, MOMENTS, strict=True)):
        tension = float(doff.forces.guide_tension[index])
        if not np.isfinite(tension):
            continue
        around = [tension, *(float(e[k]) for e in ends if np.isfinite(e[k]))]
        span = {"low": min(around), "high": max(around)} if len(around) > 1 else {}
        number = Number(value=tension, unit="cN", origin=Origin.COMPUTED, step=1.0, **span)  # type: ignore[arg-type]
        rows.append(Reading(place=f"Minute {doff.places.time[index] / 60:.0f}, {part}", expected=number))
    return rows


def _moment(doff: Doff, share: float, part: str) -> int:
    places = doff.places
    stroke = int(np.argmin(np.abs(doff.stroke_time - share * doff.problem.doff_time)))
    first = stroke * doff.places_per_stroke
    rows = slice(first, first + doff.places_per_stroke)
    wanted = 0.0 if part == "foot" else doff.problem.rise_share
    return first + int(np.argmin(np.abs(places.phase[rows] - wanted)))


def _with_friction(parts: CardParts, friction: float) -> Choice:
    choice = parts.doff.choice
    return choose(parts.mill, choice.frame.name, choice.yarn.name, replace(parts.trial, ring_friction=friction))


def _checks(doff: Doff, around: tuple[str, ...]) -> list[str]:
    frame, traveller = doff.choice.frame, doff.choice.traveller
    rows = [
        f"All travellers {show(traveller.mass, 'mass', 'mg')}, one box, one profile",
        f"Lappet {show(frame.guide.height, 'length', 'mm', 0)} above the rail at its lowest, on the spindle's centre",
    ]
    if frame.control_ring is not None:
        diameter = show(frame.control_ring.diameter, "length", "mm", 0)
        rows.append(f"Control ring {diameter}, {show(frame.control_ring.height, 'length', 'mm', 0)} above the rail")
    drafts = "Drafts and twist set" if frame.drafting.electronic else "Change wheels"
    return [*rows, f"{drafts} as on this card", *around]


def _tried(trial: Trial) -> str:
    """Say that the card is not of the setting as it is; a trial that no number of the card shows is named."""
    if trial == AS_SET:
        return ""
    parts = ["guide fixed"] if trial.guide_fixed else []
    parts += [] if trial.control_ring else ["no control ring"]
    return f", tried: {', '.join(parts)}" if parts else ", tried"


def _mind(parts: CardParts) -> list[str]:
    """Give what the shift should look at, most urgent first; notes on method stay with plan and judgement."""
    judged, doff = parts.judgement.notes, parts.doff.notes
    unsteady = [note for note in judged if "no steady balloon" in note or "could not be solved" in note]
    # What follows the act tells how the powers are reckoned.
    melting = [note.partition(" The powers given")[0] for note in judged if "can melt" in note]
    rest = [note for note in doff if not (unsteady and "No steady balloon" in note)]
    rest += [note for note in parts.plan.notes if not note.startswith("Usual traveller: ")]
    return [*unsteady[:1], *melting, *unsteady[1:], *rest][:NOTES_MOST]


def _block(parts: CardParts) -> list[tuple[str, str]]:
    choice = parts.doff.choice
    yarn = choice.yarn
    count = f"{show(yarn.count, 'count', 'tex', 1)}, {show(yarn.count, 'count', 'Ne', 0)}"
    fibres = " and ".join(dict.fromkeys(fibre.name for fibre in yarn.fibres))
    day = (parts.day or date.today()).strftime("%d %b %Y").lstrip("0")  # noqa: DTZ011 - the mill's own day
    return [
        ("Yarn", f"{count}, {yarn.end_use}"),
        ("Fibre", fibres),
        ("Frame", f"{choice.frame.name}, both sides"),
        ("Solved", f"{day}, {len(parts.doff.places)} places"),
        ("Replaces", ""),
        ("Set by", ""),
        ("Read by", ""),
        ("Hung on", ""),
    ]


def _sources(parts: CardParts, settings: list[Row], wheels: list[Wheel], big: list[BigSetting]) -> list[Source]:
    """List the sources of the numbers on the card: of equations, and of the limits that the rooms are held to."""
    numbers = [b.number for b in big] + [row.value for row in settings]
    numbers += [n for w in wheels for n in (w.teeth, w.gives, w.leaves)]
    keys = dict.fromkeys(n.source for n in numbers if n.source)
    known = bibliography()
    listed = [Source(key=key, words=_cited(known[key])) for key in keys if key != FIT]
    fitted = _fitted(parts.doff.choice)
    if fitted:
        names = ", ".join(fitted)
        words = f"{names[:1].upper()}{names[1:]}: measured, {next(iter(fitted.values()))}"
        listed.insert(0, Source(key=FIT, words=words))
    told: dict[str, list[str]] = {}
    for room in _told_rooms(parts.judgement.rooms):
        told.setdefault(f"{room.origin}: {_without(room.source, room.origin)}", []).append(
            _SHORT.get(room.key, room.name).lower()
        )
    rules = [f"{', '.join(names)}: {words}" for words, names in told.items()]
    return [*listed, *(Source(key=f"limit {i}", words=f"Limit of {rule}") for i, rule in enumerate(rules))]


def _fitted(choice: Choice) -> dict[str, str]:
    """Give what was fitted to tension readings, by name, with the words that say when and from how many."""
    told = {
        "ring friction": origin_of(choice.frame, "ring.friction")[1],
        "yarn friction": origin_of(choice.yarn, "traveller_friction")[1],
        "drag": origin_of(choice.yarn, "drag_coefficient")[1],
    }
    return {name: note for name, note in told.items() if note.startswith("fitted on")}


def _cited(source: Entry) -> str:
    year = f" ({source.year})" if source.year else ""
    author = "" if source.author.startswith("Author not named") else f"{source.author}{year}: "
    return f"{author}{source.title} [{source.grade.value}]"


def _without(source: str, origin: str) -> str:
    return source.removeprefix(origin).lstrip(" ,:")


def _fingerprint(parts: CardParts) -> str:
    """Give eight signs that change when any input of the card changes."""
    choice = parts.doff.choice
    inputs = [choice.frame, choice.yarn, choice.setting, choice.traveller, *parts.mill.limits.values()]
    text = "\n".join(entry.model_dump_json() for entry in inputs) + repr(parts.trial) + repr(choice.air_density)
    return hashlib.sha256(text.replace(NARROW_SPACE, " ").encode()).hexdigest()[:8]
