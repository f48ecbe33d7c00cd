"""Findings and lists for the tests of the work list."""

from __future__ import annotations

from ringwright.findings.finding import Answer, Estimate, Finding, Sureness
from ringwright.judgement.cautions import cautions
from ringwright.verbs.app import open_mill
from ringwright.worklist.listing import make_list
from ringwright.worklist.task import FrameFacts

MILL = open_mill("demo")
KNOWN = cautions(MILL.frames["F1"], MILL.yarns["AV30K"])
FRAMES = {name: FrameFacts(name=name, spindles=1000, sides=2, cautions=KNOWN) for name in ("F1", "F2")}


def estimate(value, unit="times"):
    return Estimate(value=value, low=0.8 * value, high=1.2 * value, unit=unit, meaning="")


def found(kind, frame, spindles=(), value=5.0, word=Sureness.SURE, shift=""):
    side = (spindles[0] - 1) // 500 + 1 if spindles else None
    return Finding(kind=kind, frame=frame, sentence=f"{frame} {kind} {spindles}.", estimate=estimate(value), p=0.0,
                   sureness=word, side=side, spindles=spindles, shift=shift)  # fmt: skip


def answer(question, frame, *findings, word=Sureness.SURE, number=None):
    return Answer(question=question, frame=frame, sentence=f"{frame}: {question}.", sureness=word, data_used="",
                  cannot_say="", findings=findings, estimate=number)  # fmt: skip


def listed(*findings, rates=(("F1", 30.0), ("F2", 30.0)), rooms=None):
    answers = [answer("rates", name, number=estimate(rate, "breaks")) for name, rate in rates]
    return make_list([*answers, answer("spindles", "F1", *findings)], rooms or {}, FRAMES, 8.0)
