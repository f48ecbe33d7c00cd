"""The cost of a kilogram on one sheet: as set, and at the speed that pays best."""

from __future__ import annotations

from collections.abc import Callable

from ringwright.economy import Cost, EconomicSpeed
from ringwright.economy.costing import Costing
from ringwright.mill import Mill, origin_of
from ringwright.report.economy_charts import cost_chart
from ringwright.report.number import digits
from ringwright.report.sheets.rows import COMPUTED, row, setting_rows
from ringwright.report.sheets.sheet import Picture, Row, Sheet, Table
from ringwright.setting.choice import Trial
from ringwright.units import in_unit, show, show_number

__all__ = ["cost_sheet"]

KWH = 3.6e6
RPM = ("rotation", "rpm")
_NAMES = {"spindle": "spindle's hour", "waste": "roving lost at breaks"}
_UNPRICED = {"currency", "spinning_time_per_year"}


def cost_sheet(costing: Costing, tried: Trial) -> Sheet:
    """Tell the cost of a kilogram as set and at the speed that pays best, and what both rest on."""
    mill, found, choice = costing.mill, costing.found, costing.doff.choice
    answer = _advice(found, mill.money.currency)
    figure = Picture(
        title="Cost of a kilogram over the speed", svg=cost_chart(found, mill.money.currency), headed=True,
        words=f"{mill.money.currency} for 1 kg by part against the main speed, rpm. {answer}",
    )  # fmt: skip
    return Sheet(
        title=f"{choice.frame.name}, {choice.yarn.name}: cost of a kilogram",
        answer=answer,
        rows=(*_rows(costing), *setting_rows(choice, tried)),
        tables=(_parts(found, mill.money.currency), _work(costing)),
        pictures=(figure,),
        warnings=_warnings(costing),
        notes=_grounds(costing),
    )


def _rows(costing: Costing) -> tuple[Row, ...]:
    found, word = costing.found, f"{costing.mill.money.currency}/kg"
    a, b = found.as_set.total, found.best.total
    rows = [
        Row(name="A kilogram as set costs", value=digits(a, 0.0001), unit=word, origin=COMPUTED, raw=a),
        Row(name="A kilogram at the speed that pays best", value=digits(b, 0.0001), unit=word, origin=COMPUTED, raw=b),
        row("Speed that pays best", found.best_speed, RPM, 0),
    ]
    counted, between = costing.counted, costing.between
    if counted is None or between is None:
        return tuple(rows)
    low, high = (digits(one.as_set.total, 0.0001) for one in between)
    speeds = " to ".join(show_number(in_unit(v, *RPM), 0) for v in sorted(one.best_speed for one in between))
    span = f"{digits(counted.low, 0.1)} to {digits(counted.high, 0.1)}"
    over = "over the 95 % interval of the counts"
    return (
        Row(name="End breaks as set", value=digits(counted.rate, 0.1), unit="per 1000 spindle hours", origin="measured",
            raw=counted.rate, note=f"{counted.origin}; {span}, 95 %"),
        *rows,
        Row(name="A kilogram as set costs between", value=f"{low} to {high}", unit=word, origin=COMPUTED, note=over),
        Row(name="The speed that pays best lies between", value=speeds, unit="rpm", origin=COMPUTED, note=over),
    )  # fmt: skip


def _parts(found: EconomicSpeed, currency: str) -> Table:
    a, b = found.as_set, found.best
    rpm = [digits(in_unit(v, *RPM), 1) for v in (found.as_set_speed, found.best_speed)]
    rows = [("main speed, rpm", *rpm, COMPUTED)]
    for part in ("energy", "piecing", "spindle", "waste", "total"):
        values = (digits(getattr(one, part), 0.0001) for one in (a, b))
        rows.append((_NAMES.get(part, part), *values, COMPUTED))
    return Table(
        title=f"Cost of 1 kg, {currency}",
        columns=("Part of the cost", "as set", "pays best", "origin"),
        rows=tuple(rows),
        origin="computed from the prices of [mill.money]",
        numbers=(1, 2),
    )


def _work(costing: Costing) -> Table:
    a, b = costing.found.as_set, costing.found.best
    rates = tuple(digits(one.breaks_per_1000_spindle_hours, 0.1) for one in (a, b))
    rows = (
        _pair("yarn of one spindle, g/h", a, b, lambda c: 3.6e6 * c.production, 0.1),
        _pair("power of one spindle, W", a, b, lambda c: c.power, 0.1),
        _pair("energy of the frame, kWh/kg", a, b, lambda c: c.energy_per_mass / KWH, 0.01),
        ("breaks per 1000 spindle hours", *rates, _rate_origin(costing)),
        _pair("spindles for one piecer", a, b, lambda c: c.round.spindles, 10),
        _pair("round of the piecer, min", a, b, lambda c: c.round.round_time / 60, 1),
        _pair("an end stays down, min", a, b, lambda c: c.round.time_down / 60, 0.1),
        _pair("ends down, %", a, b, lambda c: 100 * (1 - c.round.running), 0.1),
    )
    return Table(
        title="What the costs come from",
        columns=("Quantity, unit", "as set", "pays best", "origin"),
        rows=rows,
        origin="each row says its own origin",
        numbers=(1, 2),
    )


def _pair(name: str, a: Cost, b: Cost, value: Callable[[Cost], float], step: float) -> tuple[str, str, str, str]:
    return (name, digits(value(a), step), digits(value(b), step), COMPUTED)


def _rate_origin(costing: Costing) -> str:
    if costing.counted is not None:
        return "counted (measured), x model"
    return "given, x model" if costing.rate_given else "mill's general figure, x model"


def _advice(found: EconomicSpeed, word: str) -> str:
    rpm = show(found.best_speed, "rotation", "rpm", 0)
    saves = found.as_set.total - found.best.total
    if found.at_end:
        told = f"The best lies at the {found.at_end} of the range looked at, {rpm}: money alone sets no speed here."
    elif found.price is None:
        told = (
            f"At {rpm} a kilogram costs least: there the yarn that one more turn adds costs, kilogram for kilogram, "
            "what the yarn costs already."
        )
    else:
        gain = found.gain_per_spindle_hour(found.best) - found.gain_per_spindle_hour(found.as_set)
        told = (
            f"At {rpm} a spindle earns most: there one more turn costs what it earns. Against the setting that is "
            f"{digits(1000 * gain, 0.01)} {word} for 1000 spindle hours."
        )
    turn = "less" if saves >= 0 else "more"
    return f"{told} Against the setting a kilogram costs {digits(abs(saves), 0.0001)} {word} {turn}."


def _warnings(costing: Costing) -> tuple[str, ...]:
    counted = costing.counted
    limits = "The mill's limits are not looked at here; a speed that pays may still be one that the yarn does not bear."
    if counted is None or counted.slope is None or not costing.extrapolated:
        return (limits,)
    span = " to ".join(digits(in_unit(t, "force", "cN"), 0.1) for t in counted.span)
    names = " and ".join(costing.extrapolated)
    return (f"Extrapolated: {names}; the counts span {span} cN at the triangle.", limits)


def _grounds(costing: Costing) -> tuple[str, ...]:
    mill, counted, notes = costing.mill, costing.counted, []
    if counted is None:
        notes.append(
            "Breaks follow the model of stress against strength: a ratio to the setting's rate, no promise of a rate."
        )
    elif counted.slope is None:
        notes.append("The counts tell no growth with tension: that is the m of strength tests, not measured.")
    else:
        notes.append(f"They grow with tension to the power {digits(counted.slope, 0.1)}, as counted.")
    if mill.money.spindles_per_piecer is None:
        notes.append(
            f"A piecer minds as many spindles as let piecing take {digits(100 * mill.money.piecing_share, 1)} % of the "
            f"time, and a round {show(mill.money.longest_round, 'time', 'min', 0)}."
        )
    assumed = _assumed(mill, counted=counted is not None)
    return (*notes, f"Assumed, not the mill's own readings: {assumed}.") if assumed else tuple(notes)


def _assumed(mill: Mill, *, counted: bool) -> str:
    unused = _UNPRICED | ({"breaks_per_1000_spindle_hours"} if counted else set())
    keys = [name for name in type(mill.money).model_fields if name not in unused]
    assumed = (
        key for key in keys if origin_of(mill, f"money.{key}")[0] == "assumed" and getattr(mill.money, key) is not None
    )
    return ", ".join(assumed)
