"""A sample card of the invented frame F1 with yarn AV30K; no number here is a result."""

from __future__ import annotations

from typing import Any

from sample_figures import ASSUMED, COMPUTED, MEASURED, PRACTICE, RPM, mm, position, rooms, tension

from ringwright.report.card import BigSetting, Card, Caution, Reading, Row, Source, Statement, Wheel
from ringwright.report.number import Number


def number(value: float, unit: str, origin: Any = COMPUTED, **more: Any) -> Number:
    return Number(value=value, unit=unit, origin=origin, **more)


def _head() -> dict[str, Any]:
    return {
        "mill": "Alder Vale Spinning",
        "frame": "F1",
        "yarn": "AV30K",
        "setting": "A",
        "subtitle": "1\u202f008 spindles, 40 mm rings",
        "big": [
            BigSetting(name="Traveller", number=number(45e-6, "mg", MEASURED), note="usual for 30 Ne: 35.5 to 56 mg"),
            BigSetting(name="Spindle speed", number=number(16000 * RPM, "rpm", MEASURED), note="main part of the doff"),
            BigSetting(name="Twist", number=number(776, "t/m"), note="19.7 tpi, 3.60 TM, Z"),
            BigSetting(name="Total draft", number=number(44.9, "times"), note="twist contraction 4.7 %"),
            BigSetting(name="Doff", number=number(7800, "min"), note="51 g on each spindle"),
        ],
        "position": position(),
    }


def _plan() -> dict[str, Any]:
    return {
        "settings": [
            Row(name="Delivery", value=number(20.6 / 60, "m/min")),
            Row(name="Production of a spindle", value=number(24.4e-3 / 3600, "g/h", source="hours")),
            Row(name="Rail stroke", value=mm(46)),
            Row(name="Travel of the ring rail", value=mm(170)),
            Row(name="Travel of the lappet rail", value=mm(56)),
            Row(name="Fibres in the section", value=number(118, "fibres")),
            Row(name="Traveller speed", value=number(33.1, "m/s")),
            Row(name="Traveller and finish", value=Statement(words="C shape, nickel", origin=MEASURED)),
            Row(name="Change travellers every", value=number(14 * 86400, "days", PRACTICE, source="practice")),
            Row(name="Ring friction coefficient", value=number(0.10, "1", ASSUMED, low=0.08, high=0.13, source="heat")),
        ],
        "wheels": [
            Wheel(
                name="Draft wheel", teeth=number(46, "teeth"), gives=number(44.9, "times"),
                leaves=number(0.0031, "%"), leaves_in="count",
            ),
            Wheel(
                name="Break wheel", teeth=number(38, "teeth"), gives=number(1.2, "times", step=0.01),
                leaves=number(-0.004, "%"), leaves_in="draft",
            ),
            Wheel(
                name="Twist wheel", teeth=number(52, "teeth"), gives=number(776, "t/m"),
                leaves=number(-0.0012, "%"), leaves_in="twist",
            ),
        ],
    }  # fmt: skip


def _foot() -> dict[str, Any]:
    return {
        "rooms": rooms(),
        "interval_spans": "ring friction 0.08 to 0.13",
        "tension": tension(),
        "readings": [
            Reading(place="Minute 36, foot", expected=number(0.23, "cN", low=0.20, high=0.27, step=1.0)),
            Reading(place="Minute 36, top", expected=number(0.33, "cN", low=0.28, high=0.38, step=1.0)),
            Reading(place="Minute 112, foot", expected=number(0.21, "cN", low=0.18, high=0.25, step=1.0)),
        ],
        "checks": [
            "All travellers 45 mg, one box, one profile",
            "Lappet 222 mm above the rail, on the spindle's centre",
            "Control ring 44 mm, 100 mm above the rail, clear of the tube",
            "Every separator straight and in place",
            "Speed read at both ends and the middle, both sides",
        ],
        "cautions": ["the balloon comes within 1.3 mm of the tube tip at minute 4; look at it there."],
        "stop": Caution(
            act="Stop and lock out before reaching past the guards",
            rest="or touching travellers, rings, tapes or belts. Guards on before restart. Wear eye protection at "
            "travellers. Your mill's rules and trained people come first.",
        ),
        "block": [
            ("Yarn", "19.7 tex combed cotton, 30 Ne"), ("Frame", "F1, both sides"), ("Setting", "A, 25 Nov 2026"),
            ("Replaces", "card of 3 Oct 2026"), ("Set by", ""), ("Read by", ""), ("Hung on", ""),
        ],
        "sources": [
            Source(key="hours", words="Invented author (1999), an invented handbook, table 4"),
            Source(key="practice", words="common practice, no source"),
            Source(key="heat", words="Invented author (2005), an invented journal, page 17"),
            Source(key="strength", words="Alder Vale's own rule: a quarter of yarn strength"),
        ],
        "made_by": "Ringwright 0.1.0, inputs 3f2a91c0",
    }  # fmt: skip


def card(**changes: Any) -> Card:
    return Card(**(_head() | _plan() | _foot() | changes))
