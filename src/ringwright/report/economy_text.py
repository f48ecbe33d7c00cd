"""Energy, cost and end breaks of a setting as text for a person at a terminal."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap

from ringwright.economy import Cost, EconomicSpeed, Energy
from ringwright.economy.costing import Costing
from ringwright.economy.counting import BreakStudy, Counted
from ringwright.economy.energy_sway import Sway, together
from ringwright.mill import Mill, origin_of
from ringwright.report.number import digits
from ringwright.setting.choice import Choice
from ringwright.units import NARROW_SPACE, in_unit, show

__all__ = ["breaks_text", "cost_text", "energy_text", "head"]

WIDTH = 88
KWH = 3.6e6
# Where a part of the power rests on: what is computed from the solved doff, and the keys of [mill.power].
FROM_MILL = {
    "cop in the air": "hairiness",
    "bare spindle and its drive": "bare_spindle",
    "drafting": "drafting",
    "suction": "suction",
    "motor and inverter": "efficiency",
}


def head(choice: Choice, what: str) -> list[str]:
    """Open a text: frame, yarn, what it is about, and the setting it is of."""
    speed, mass = show(choice.setting.main_speed, "rotation", "rpm", 0), show(choice.traveller.mass, "mass", "mg")
    return [f"{choice.frame.name}, {choice.yarn.name}: {what}", "=" * WIDTH, f"Main speed {speed}, traveller {mass}."]


def energy_text(choice: Choice, energy: Energy, mill: Mill, sways: tuple[Sway, ...] = ()) -> str:
    """Tell the power of one spindle by part, the energy of a kilogram, and which of it was computed."""
    means, per_mass, drawn = energy.means, energy.per_mass, energy.drawn
    total = sum(means.values())
    lines = [*head(choice, "energy by part"), ""]
    lines.append(f"{'One spindle, mean over the doff':<34}{'W':>8}{'share':>9}{'kWh/kg':>10}   {'origin'}")
    for name, mean in means.items():
        lines.append(
            f"  {name:<32}{digits(mean, 0.01):>8}{digits(100 * mean / total, 0.1):>7} %"
            f"{digits(per_mass[name] / KWH, 0.001):>10}   {_origin(name, mill)}"
        )
    lines.append(
        f"  {'drawn from the mains':<32}{digits(total, 0.01):>8}{'100.0 %':>9}"
        f"{digits(sum(per_mass.values()) / KWH, 0.001):>10}   computed from the above"
    )
    yarn = sum(means[name] for name in ("traveller on ring", "balloon in the air", "yarn on control ring"))
    own = means["bare spindle and its drive"] + means["drafting"] + means["suction"]
    lines += [
        "",
        (
            f"Least {digits(float(drawn.min()), 0.1)} W, most {digits(float(drawn.max()), 0.1)} W in the doff."
            f" {choice.frame.spindles} spindles draw {digits(total * choice.frame.spindles / 1e3, 0.1)} kW."
        ),
        (
            f"Traveller, balloon and control ring take {digits(yarn, 0.01)} W; the winding yarn gives as much, within"
            f" {_tiny(energy.imbalance)} of it at every place."
        ),
        f"Of the whole, {digits(own, 0.1)} W rest on the mill's own figures in [mill.power]; while these are assumed,",
        "trust differences between settings more than the sum. Doff stops and the air plant are left out.",
        *_sways(sways, sum(per_mass.values())),
    ]
    return _done(lines)


def _sways(sways: tuple[Sway, ...], middle: float) -> list[str]:
    """Say how far the energy of a kilogram moves with what nobody has read."""
    if not sways:
        return []
    low, high = (digits(end / KWH, 0.01) for end in together(sways, middle))
    lines = ["", f"{'How far the sum may sway, kWh/kg':<48}{'low':>8}{'high':>8}   range is"]
    lines += [
        f"  {one.name:<46}{digits(one.low / KWH, 0.01):>8}{digits(one.high / KWH, 0.01):>8}   {one.origin}"
        for one in sways
    ]
    return [*lines, f"  {'all, if each goes its own way':<46}{low:>8}{high:>8}   computed"]


def _tiny(value: float) -> str:
    return f"{value:.0e}".replace("e-0", "e-")


def _origin(name: str, mill: Mill) -> str:
    key = FROM_MILL.get(name)
    if key is None:
        return "computed"
    word, _ = origin_of(mill, f"power.{key}")
    return f"computed; {key} {word}" if name in {"cop in the air", "motor and inverter"} else word


def cost_text(costing: Costing) -> str:
    """Tell the cost of a kilogram as set and at the speed that pays best, and what both rest on."""
    mill, found, choice = costing.mill, costing.found, costing.doff.choice
    word = mill.money.currency
    a, b = found.as_set, found.best
    rpm = [show(v, "rotation", "rpm", 0) for v in (found.as_set_speed, found.best_speed)]
    lines = [*head(choice, "cost of a kilogram"), ""]
    lines.append(f"{f'{word} for 1 kg':<40}{'as set':>16}{'pays best':>16}   origin")
    lines.append(f"  {'main speed':<38}{rpm[0]:>16}{rpm[1]:>16}")
    for part in ("energy", "piecing", "spindle", "waste", "total"):
        name = {"spindle": "spindle's hour", "waste": "roving lost at breaks"}.get(part, part)
        values = "".join(f"{digits(getattr(c, part), 0.0001):>16}" for c in (a, b))
        lines.append(f"  {name:<38}{values}   computed")
    lines += _work_rows(a, b, _rate_origin(costing))
    lines += ["", *_advice(found, word), *_counted_cost(costing), "", *_cost_grounds(mill, costing.counted)]
    return _done(lines)


def _rate_origin(costing: Costing) -> str:
    if costing.counted is not None:
        return "counted (measured), x model"
    return "given, x model" if costing.rate_given else "mill's general figure, x model"


def _counted_cost(costing: Costing) -> list[str]:
    """Say what the counts make of the cost: their interval, and where the answer leaves them."""
    counted, between = costing.counted, costing.between
    if counted is None or between is None:
        return []
    low, high = (one.as_set.total for one in between)
    speeds = " to ".join(show(v, "rotation", "rpm", 0) for v in sorted(one.best_speed for one in between))
    span = f"{digits(counted.low, 0.1)} to {digits(counted.high, 0.1)}, 95 %"
    costs = f"{digits(low, 0.0001)} to {digits(high, 0.0001)}"
    lines = [
        f"Breaks as set from {counted.origin}: {digits(counted.rate, 0.1)} per 1000 spindle hours ({span}).",
        f"Over that interval a kilogram as set costs {costs}, and the speed that pays best is {speeds}.",
    ]
    if counted.slope is None:
        lines.append("The counts tell no growth with tension: that is the m of strength tests, not measured.")
    else:
        lines.append(f"They grow with tension to the power {digits(counted.slope, 0.1)}, as counted.")
    if costing.extrapolated and counted.slope is not None:
        span = " to ".join(digits(in_unit(t, "force", "cN"), 0.1) for t in counted.span)
        lines.append(f"Extrapolated: {' and '.join(costing.extrapolated)}; the counts span {span} cN at the triangle.")
    return [line for one in lines for line in wrap(one, WIDTH)]


def _work_rows(a: Cost, b: Cost, origin: str) -> list[str]:
    rows: list[tuple[str, list[float], float, str]] = [
        ("yarn of one spindle, g/h", [3.6e6 * c.production for c in (a, b)], 0.1, "computed"),
        ("power of one spindle, W", [c.power for c in (a, b)], 0.1, "computed"),
        ("energy of the frame, kWh/kg", [c.energy_per_mass / KWH for c in (a, b)], 0.01, "computed"),
        ("breaks per 1000 spindle hours", [c.breaks_per_1000_spindle_hours for c in (a, b)], 0.1, origin),
        ("spindles for one piecer", [c.round.spindles for c in (a, b)], 10, "computed"),
        ("round of the piecer, min", [c.round.round_time / 60 for c in (a, b)], 1, "computed"),
        ("an end stays down, min", [c.round.time_down / 60 for c in (a, b)], 0.1, "computed"),
        ("ends down, %", [100 * (1 - c.round.running) for c in (a, b)], 0.1, "computed"),
    ]
    return [f"  {name:<38}{digits(v[0], step):>16}{digits(v[1], step):>16}   {said}" for name, v, step, said in rows]


def _advice(found: EconomicSpeed, word: str) -> list[str]:
    rpm = show(found.best_speed, "rotation", "rpm", 0)
    saves = found.as_set.total - found.best.total
    if found.at_end:
        lines = [f"The best lies at the {found.at_end} of the range looked at, {rpm}: money alone sets no speed here."]
    elif found.price is None:
        lines = [f"At {rpm} a kilogram costs least: there the yarn that one more turn adds costs, kilogram for",
                 "kilogram, what the yarn costs already."]  # fmt: skip
    else:
        gain = found.gain_per_spindle_hour(found.best) - found.gain_per_spindle_hour(found.as_set)
        lines = [
            f"At {rpm} a spindle earns most: there one more turn costs what it earns. Against the setting that is",
            f"{digits(1000 * gain, 0.01)} {word} for 1000 spindle hours.",
        ]
    lines.append(
        f"Against the setting a kilogram costs {digits(abs(saves), 0.0001)} {word} {'less' if saves >= 0 else 'more'}."
    )
    lines.append(
        "The mill's limits are not looked at here; a speed that pays may still be one that the yarn does not bear."
    )
    return lines


def _cost_grounds(mill: Mill, counted: Counted | None) -> list[str]:
    share = mill.money.piecing_share
    unused = {"currency", "spinning_time_per_year"} | ({"breaks_per_1000_spindle_hours"} if counted else set())
    keys = [name for name in type(mill.money).model_fields if name not in unused]
    assumed = [
        key for key in keys if origin_of(mill, f"money.{key}")[0] == "assumed" and getattr(mill.money, key) is not None
    ]
    lines = []
    if mill.money.spindles_per_piecer is None:
        time = show(mill.money.longest_round, "time", "min", 0)
        lines.append(
            f"A piecer minds as many spindles as let piecing take {digits(100 * share, 1)} % of the time,"
            f" and a round {time}."
        )
    if assumed:
        lines += wrap(f"Assumed, not the mill's own readings: {', '.join(assumed)}.", WIDTH)
    if counted is None:
        lines.append(
            "Breaks follow the model of stress against strength: a ratio to the setting's rate, no promise of a rate."
        )
    return lines


def breaks_text(choice: Choice, study: BreakStudy, names: Sequence[str]) -> str:
    """Tell how the breaks of what is tried stand to those of the setting, and what the mill's counts say."""
    lines = [*head(choice, "end breaks"), ""]
    tension = [show(s.even_tension, "force", "cN", 1) for s in (study.as_set, study.tried)]
    if names:
        lines += [
            f"Tried: {', '.join(names)}.",
            (
                f"Breaks per spindle hour: {digits(study.ratio, 0.01)} times those as set (computed), if"
                f" {digits(100 * study.tension_share, 1)} % of them follow the tension;"
            ),
            (
                f"{digits(study.ratio_all_tension, 0.01)} times if all of them do. The tension that counts goes from"
                f" {tension[0]} to {tension[1]}."
            ),
        ]
    else:
        lines.append(
            f"The tension that counts at the triangle is {tension[0]} (computed): held evenly, it breaks as many ends."
        )
    more = 100 * (1.01**study.strength_shape - 1)
    lines.append(
        f"With m = {digits(study.strength_shape, 0.1)} from the yarn's strength CV, 1 % more tension gives"
        f" {digits(more, 1)} % more of the breaks that follow it."
    )
    lines += ["", *_counted(study, tried=bool(names))]
    return _done(lines)


def _counted(study: BreakStudy, *, tried: bool) -> list[str]:
    if study.counted is None:
        rate = digits(study.base_rate, 0.1)
        lines = [f"No counts given: the rate as set is the mill's general figure, {rate} per 1000 spindle hours."]
        if tried:
            lines.append(
                f"On it the ratio gives {digits(study.predicted, 0.1)}; take the ratio for what it is, not this rate."
            )
        lines.append("Give the mill's own counts with --counts to calibrate the model.")
        return lines
    breaks, hours = study.counted
    low, high = study.base_interval or (float("nan"),) * 2
    lines = [
        f"Counted: {digits(breaks, 1)} breaks in {digits(hours, 1)} spindle hours.",
        (
            f"Rate as set by gamma-Poisson: {digits(study.base_rate, 0.1)} per 1000 spindle hours"
            f" ({digits(low, 0.1)} to {digits(high, 0.1)}, 95 %), {_scatter_words(study.scatter)}."
        ),
    ]
    return lines + (_regressed(study, tried=tried) if study.regression else [
        "All counts stand at one tension: they fix the rate, not its growth with tension (m)."])  # fmt: skip


def _scatter_words(scatter: float) -> str:
    if not scatter > 1:  # also where too few counts tell it
        return "if breaks scatter by chance alone"
    return f"widened, as the counts scatter {digits(scatter, 0.1)} times more than chance"


def _regressed(study: BreakStudy, *, tried: bool) -> list[str]:
    found = study.regression
    if found is None:
        return []
    error = found.standard_errors[1]
    lines = [
        (
            f"Slope on ln tension by regression: {digits(found.slope, 0.1)}, standard error {digits(error, 0.1)}"
            f" (strength tests say m = {digits(study.strength_shape, 0.1)})."
        ),
    ]
    if found.freedom > 0:
        wider = "; errors are widened by its root" if found.dispersion > 1 else ""
        lines.append(f"Scatter over chance (dispersion): {digits(found.dispersion, 0.1)}{wider}.")
    if tried:
        grow = study.tried.yarn_speed / study.as_set.yarn_speed
        middle, low, high = (grow * v for v in found.rate(study.tried.even_tension))
        beyond = found.extrapolates(study.tried.even_tension)
        span = " to ".join(digits(in_unit(t, "force", "cN"), 0.1) for t in found.span)
        outside = f", extrapolated: the counts span {span} cN" if beyond else ""
        lines.append(
            f"Rate as tried: {digits(middle, 0.1)} per 1000 spindle hours"
            f" ({digits(low, 0.1)} to {digits(high, 0.1)}){outside}."
        )
    return lines


def _done(lines: Sequence[str]) -> str:
    return "\n".join(lines).replace(NARROW_SPACE, " ")
