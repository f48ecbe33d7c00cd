"""Energy, cost, breaks, comparison and sureness, each the command line's answer with its picture."""

from __future__ import annotations

from collections.abc import Mapping

from ringwright.mill import Mill
from ringwright.refusal import Fault, Refusal
from ringwright.workbench.better.question import (
    TRIED,
    Blank,
    Figure,
    Question,
    Say,
    Stopped,
    Told,
    number,
    told,
    trial_of,
    whole,
)

# The answers import what they need as they are called, in the worker that answers.
# ruff: noqa: PLC0415

__all__ = ["BREAKS", "COMPARE", "COST", "ENERGY", "SPREAD"]

Names = tuple[str, str]


def _energy(mill: Mill, names: Names, typed: Mapping[str, str], _: Say, __: Stopped) -> Told:
    from ringwright.report.economy_charts import power_chart
    from ringwright.report.economy_text import energy_text
    from ringwright.verbs import costing

    whole_mill, doff, found, sways = costing.energy(mill, names, trial_of(typed))
    figure = Figure(title="Power of one spindle by part, through the doff", svg=power_chart(doff, found))
    return told(energy_text(doff.choice, found, whole_mill, sways), figure)


def _cost(mill: Mill, names: Names, typed: Mapping[str, str], _: Say, __: Stopped) -> Told:
    from ringwright.report.economy_charts import cost_chart
    from ringwright.report.economy_text import cost_text
    from ringwright.verbs import costing

    found = costing.cost(mill, names, trial_of(typed), number(typed, "rate", "End breaks"), None)
    figure = Figure(title="Cost of a kilogram over the speed", svg=cost_chart(found.found, mill.money.currency))
    return told(cost_text(found), figure)


def _breaks(mill: Mill, names: Names, typed: Mapping[str, str], _: Say, __: Stopped) -> Told:
    from ringwright.report.economy_text import breaks_text
    from ringwright.verbs import costing

    doff, study = costing.breaks(mill, names, trial_of(typed), None, None)
    tried = [
        f"{one.label.lower()} {typed[one.key]}" for one in TRIED if typed.get(one.key, "as set") not in {"", "as set"}
    ]
    return told(breaks_text(doff.choice, study, tried))


def _compare(mill: Mill, names: Names, typed: Mapping[str, str], _: Say, __: Stopped) -> Told:
    from ringwright.report.compare_text import compare_chart, compare_text
    from ringwright.verbs import costing

    other = (typed.get("frame_b") or names[0], typed.get("yarn_b") or names[1])
    if other == names and not typed.get("with"):
        wants = "something to try, or another frame or yarn"
        raise Refusal(Fault(where="B", got="the same as A", wants=wants, mend='Write "traveller=40mg", for example.'))
    found = costing.compare(mill, names, other, typed.get("with", ""))
    figure = Figure(title="Tension in the yarn through the doff, A and B", svg=compare_chart(found))
    return told(compare_text(found), figure)


def _spread(mill: Mill, names: Names, typed: Mapping[str, str], say: Say, stopped: Stopped) -> Told:
    from ringwright.report.spread_text import ranking_chart, spread_text
    from ringwright.verbs import costing, fits

    doffs = whole(typed, "doffs", "Doffs to draw") or 4000
    study = costing.spread(fits.Opened(mill=mill), names, trial_of(typed), doffs, (say, stopped))
    return told(spread_text(study), Figure(title="Which input to measure first", svg=ranking_chart(study)))


ENERGY = Question(
    key="energy", name="Energy", question="Where does the power of a spindle go, and what does a kilogram take?",
    blanks=TRIED, answer=_energy,
)  # fmt: skip
COST = Question(
    key="cost", name="Cost", question="What does a kilogram cost, and which speed pays best?",
    blanks=(
        *TRIED,
        Blank(key="rate", label="End breaks", hint="Per 1000 spindle hours of the setting as it is, from your counts."),
    ),
    answer=_cost,
)  # fmt: skip
BREAKS = Question(
    key="breaks", name="End breaks", question="How do the end breaks of what is tried compare with the setting's?",
    blanks=TRIED, answer=_breaks,
)  # fmt: skip
COMPARE = Question(
    key="compare", name="Compare", question="What is different between two settings or frames, and why?",
    blanks=(
        Blank(key="with", label="B tries", hint='As "traveller=40mg, speed=17000rpm, guide=fixed, control-ring=none".'),
        Blank(key="frame_b", label="Frame of B", hint="A's if left empty."),
        Blank(key="yarn_b", label="Yarn of B", hint="A's if left empty."),
    ),
    answer=_compare,
)  # fmt: skip
SPREAD = Question(
    key="spread", name="How sure", question="How sure are the results, and which input should be measured first?",
    blanks=(*TRIED, Blank(key="doffs", label="Doffs to draw", hint="4000 if left empty; more take longer.")),
    answer=_spread, long=True,
)  # fmt: skip
