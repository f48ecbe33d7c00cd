"""The spin plan as text for a terminal of 80 to 100 columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from ringwright.report.plan_lines import Lines, System, shown
from ringwright.setting.electronic import ToSet
from ringwright.setting.figure import Figure
from ringwright.setting.planned import OrderPlan, Plan, TravellerPlan
from ringwright.setting.wheels import AsGeared, WheelOption, WheelPlan, Wheels
from ringwright.units import NARROW_SPACE

__all__ = ["plan_text"]

_COLUMNS: Final = 96
_CAUTION: Final = (
    "Stop and lock out the frame before you open its gearing or change a wheel: a wheel that turns takes fingers. "
    "Your mill's rules and trained people come first."
)
_SETTING_CAUTION: Final = (
    "Set drafts and twist only if you are trained for the frame's controls, and stand clear at the first start: "
    "rollers and spindles turn at once. Your mill's rules and trained people come first."
)


def plan_text(plan: Plan, system: System = "tex") -> str:
    """Write a plan with unit and origin of every figure, its notes and its sources.

    ``system`` says which units lead: tex and t/m, or Ne and tpi; count, twist and multiplier are given in both.
    """
    lines = Lines(plan, system)
    blocks = [
        _head(plan),
        _section("Yarn and twist", _twist(plan, lines)),
        _section("Draft", _draft(plan, lines)),
        *_drive(plan, lines),
        _section("Speed through the doff", _speeds(plan, lines)),
        _section("Production", _production(plan, lines)),
        _section("Roving, one bobbin to a spindle", _roving(plan, lines)),
        _section("Fibres in the section", _fibres(plan, lines)),
        _section("Traveller", _traveller(plan.traveller_motion, plan.traveller, lines)),
        _section("Order", _order(plan.order, lines)) if plan.order else [],
        _section("Notes", _wrapped(plan.notes)),
        _section("Caution", _wrapped([_CAUTION if plan.to_set is None else _SETTING_CAUTION])),
        _section("Sources", _wrapped(lines.sources(), "      ")),
    ]
    text = "\n".join(line.rstrip() for block in blocks if block for line in (*block, ""))
    return text.rstrip().replace(NARROW_SPACE, " ")


def _head(plan: Plan) -> list[str]:
    return [
        f"Spin plan of {plan.yarn} on frame {plan.frame}, {plan.mill}",
        f"Setting {plan.setting}, roving {plan.roving}, traveller {plan.traveller}",
    ]


def _section(title: str, inside: Iterable[str]) -> list[str]:
    listed = list(inside)
    return [title, *listed] if listed else []


def _wrapped(sentences: Iterable[str], indent: str = "  ") -> list[str]:
    return [
        line
        for sentence in sentences
        for line in textwrap.wrap(sentence, _COLUMNS, initial_indent="  ", subsequent_indent=indent)
    ]


def _twist(plan: Plan, lines: Lines) -> list[str]:
    twist = plan.twist
    return [
        *lines.both("Count of the yarn", twist.count, ("tex", "Ne")),
        lines.line("Twist multiplier, tpi / root Ne", twist.multiplier, "TM"),
        lines.line("  in tex, t/m x root tex", twist.multiplier, "alpha_tex"),
        lines.line("  metric, t/m / root Nm", twist.multiplier, "alpha_m"),
        *lines.both("Twist in the yarn", twist.twist, ("t/m", "tpi")),
        lines.line("Twist contraction", twist.contraction, decimals=2),
        lines.line("Turns to a metre delivered" if lines.system == "tex" else "Turns to an inch delivered",
                   twist.delivered, lines.unit(twist.delivered)),
        lines.line("Count at the front rollers", twist.strand_count, lines.unit(twist.strand_count)),
    ]  # fmt: skip


def _draft(plan: Plan, lines: Lines) -> list[str]:
    draft = plan.draft
    return [
        *lines.both("Count of the roving", draft.roving_count, ("tex", "hank")),
        lines.line("Total draft, contraction included", draft.total),
        lines.line("  by counts alone", draft.by_counts),
        lines.line("Break draft", draft.break_draft, decimals=3),
        lines.line("Main draft", draft.main),
    ]


def _drive(plan: Plan, lines: Lines) -> list[list[str]]:
    """Write the change wheels and what they give, or the values to set where there are none."""
    blocks = []
    if plan.wheels is not None:
        blocks.append(_section("Change wheels", _wheels(plan.wheels, lines)))
        blocks.append(_section("What these three wheels give", _as_geared(plan.wheels.as_geared, lines)))
    if plan.to_set is not None:
        blocks.append(_section("Values to set, no change wheels", _to_set(plan.to_set, lines)))
    return blocks


def _to_set(values: ToSet, lines: Lines) -> list[str]:
    return [
        lines.line("Total draft", values.total_draft, decimals=3),
        lines.line("Break draft", values.break_draft, decimals=3),
        lines.line("Main draft", values.main_draft, decimals=3),
        *lines.both("Twist in the yarn", values.twist, ("t/m", "tpi")),
        *lines.both("Twist in each length delivered", values.delivered, ("t/m", "tpi")),
        lines.line("Spindle turns to one of front roller", values.turns_of_spindle),
        lines.line("Front roller at main speed", values.front_roller, decimals=1),
        lines.line("Back roller then", values.back_roller, decimals=3),
    ]


def _wheels(wheels: Wheels, lines: Lines) -> list[str]:
    return [
        *_train(wheels.total_draft, lines, ("total draft", "count of yarn")),
        "",
        *_train(wheels.break_draft, lines, ("break draft", "")),
        "",
        *_train(wheels.twist, lines, ("delivered", "twist in yarn")),
        lines.line("Slip from drum to spindle", wheels.slip),
    ]


def _train(plan: WheelPlan, lines: Lines, heads: tuple[str, str]) -> list[str]:
    """Write the wheels of a train, the one to use marked."""
    exact, _ = shown(plan.exact_teeth, decimals=2)
    wanted = _given(plan.wanted, lines)
    rows = [
        f"  For a {plan.name} of {wanted}{' delivered' if plan.name == 'twist' else ''}, exactly {exact} teeth:",
        f"  {'teeth':>10}  {heads[0]:>13}  {heads[1]:>13}  error left",
    ]
    for mark, option in (("", plan.smaller), ("use", plan.best), ("", plan.larger)):
        if option is not None:
            rows.append(_wheel(mark, option, lines))
    if plan.smaller is None or plan.larger is None:
        rows.append(f"  No {'smaller' if plan.smaller is None else 'larger'} wheel is at hand.")
    return rows


def _wheel(mark: str, option: WheelOption, lines: Lines) -> str:
    teeth, _ = shown(option.teeth)
    makes = "" if option.makes.quantity == "ratio" else lines.own(option.makes)
    left = f"  {mark:<3}{teeth:>7}  {_given(option.gives, lines):>13}  {makes:>13}  {_error(option, lines):<25}"
    return f"{left} {lines.origin(option.gives)}"


def _given(figure: Figure, lines: Lines) -> str:
    """Write what a train gives: a draft to four figures, a twist in the units of the system."""
    return shown(figure, decimals=3)[0] if figure.quantity == "ratio" else lines.own(figure)


def _error(option: WheelOption, lines: Lines) -> str:
    """Say the error so that its direction cannot be mistaken, whatever the units."""
    share, _ = shown(_size(option.error), decimals=2)
    size = f"{share} %"
    if option.makes.quantity == "count":
        return f"{size} {'coarser' if option.error.value > 0 else 'finer'}"
    way = "more" if option.error.value > 0 else "less"
    if option.makes.quantity == "ratio":
        return f"{size} {way}"
    return f"{lines.own(_size(option.difference))} {way}, {size}"


def _size(figure: Figure) -> Figure:
    return replace(figure, value=abs(figure.value))


def _as_geared(real: AsGeared, lines: Lines) -> list[str]:
    change = "more" if real.production_change.value > 0 else "less"
    return [
        *lines.both("Real count of the yarn", real.count, ("tex", "Ne")),
        *lines.both("Real twist in the yarn", real.twist, ("t/m", "tpi")),
        lines.line("Real twist multiplier", real.multiplier),
        lines.line("Real total draft", real.total_draft),
        lines.line("Real break draft", real.break_draft, decimals=3),
        lines.line("Real main draft", real.main_draft),
        lines.line(f"Yarn made, {change} than planned by", _size(real.production_change), decimals=2),
    ]


def _speeds(plan: Plan, lines: Lines) -> list[str]:
    speeds = plan.speeds
    rows = [f"  {'':<18}{'spindle':>11}{'':<22}{'front rollers deliver':>21}"]
    for name, at in (
        ("Start", speeds.start), ("Base", speeds.base), ("Main", speeds.main), ("Tip", speeds.tip),
        ("Mean over the time", speeds.mean),
    ):  # fmt: skip
        spindle, delivery = (" ".join(shown(figure)) for figure in (at.spindle, at.delivery))
        left = f"  {name:<18} {spindle:>11}  {lines.origin(at.spindle):<16}"
        rows.append(f"{left}{delivery:>16}  {lines.origin(at.delivery)}")
    return rows


def _production(plan: Plan, lines: Lines) -> list[str]:
    made, doff = plan.production, plan.doff
    return [
        lines.line("Efficiency", made.efficiency),
        lines.line("Spindles of the frame", made.spindles),
        lines.line("Length of a shift", made.shift_length),
        lines.line("Yarn made by a spindle", made.per_spindle),
        lines.line("Yarn made by the frame", made.per_frame),
        lines.line("Yarn made by the frame in a shift", made.per_frame_shift),
        lines.line("Yarn on a full cop", doff.content),
        lines.line("  its length", doff.yarn_length),
        lines.line("Doff, spinning without a stop", doff.spinning_time),
        lines.line("Doff, stops included", doff.time_with_stops),
        lines.line("Doffs in a shift", doff.per_shift),
    ]


def _roving(plan: Plan, lines: Lines) -> list[str]:
    supply = plan.roving_supply
    return [
        lines.line("Roving drawn by a spindle, no waste", supply.consumption),
        lines.line("Fed at the back rollers", supply.feed_speed, decimals=3),
        lines.line("Roving on a full bobbin", supply.bobbin_mass),
        lines.line("A full bobbin runs out in", supply.run_out_time),
        lines.line("Bobbins for the frame in a shift", supply.bobbins_per_shift),
    ]


def _fibres(plan: Plan, lines: Lines) -> list[str]:
    fibres = plan.fibres
    return [
        lines.line("Mean number in the section", fibres.in_section),
        lines.line("Fewest for the process", fibres.fewest),
        lines.line("Finest yarn from these fibres", fibres.finest_count, lines.unit(fibres.finest_count)),
    ]


def _traveller(motion: TravellerPlan, name: str, lines: Lines) -> list[str]:
    usual = [("Usual, lightest", motion.usual_lightest), ("Usual, heaviest", motion.usual_heaviest)]
    tube, cop = (" ".join(shown(end)) for end in (motion.tube_diameter, motion.cop_diameter))
    return [
        lines.line(f"Mass of {name}", motion.mass),
        *(lines.line(f"  {label}", figure) for label, figure in usual if figure is not None),
        lines.line("Bare tube at the first stroke", motion.tube_diameter),
        lines.line("Full cop", motion.cop_diameter),
        "  At main speed",
        lines.line(f"  speed on the ring, at {tube}", motion.speed_on_tube),
        lines.line(f"  speed on the ring, at {cop}", motion.speed_on_cop),
        lines.line(f"  lag behind the spindle, at {tube}", motion.lag_on_tube),
        lines.line(f"  lag behind the spindle, at {cop}", motion.lag_on_cop),
        "  Twist that the yarn on the cop still lacks; it comes back as the yarn is drawn off over the end",
        lines.line(f"  at {tube}", motion.missing_twist_on_tube, lines.unit(motion.missing_twist_on_tube)),
        lines.line(f"  at {cop}", motion.missing_twist_on_cop, lines.unit(motion.missing_twist_on_cop)),
    ]


def _order(order: OrderPlan, lines: Lines) -> list[str]:
    return [
        lines.line("Yarn to be made", order.mass, decimals=0),
        lines.line("Time to make it in", order.time),
        lines.line("Frames that it needs", order.frames),
        lines.line("  exactly", order.exact_frames, decimals=2),
        lines.line("Time that these frames take", order.time_taken),
        lines.line("Full roving bobbins", order.roving_bobbins),
    ]
