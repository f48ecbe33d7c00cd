"""Energy of a setting on one sheet: the power of a spindle by part, what a kilogram takes, and how that may sway."""

from __future__ import annotations

from ringwright.economy import Energy
from ringwright.economy.energy_sway import Sway, together
from ringwright.mill import Mill, origin_of
from ringwright.report.economy_charts import power_chart
from ringwright.report.number import digits
from ringwright.report.sheets.rows import COMPUTED, row, setting_rows
from ringwright.report.sheets.sheet import Picture, Row, Sheet, Table
from ringwright.setting.choice import Trial
from ringwright.setting.doff import Doff

__all__ = ["energy_sheet"]

KWH = 3.6e6
# Where a part of the power rests on: what is computed from the solved doff, and the keys of [mill.power].
FROM_MILL = {
    "cop in the air": "hairiness",
    "bare spindle and its drive": "bare_spindle",
    "drafting": "drafting",
    "suction": "suction",
    "motor and inverter": "efficiency",
}
OF_YARN = ("traveller on ring", "balloon in the air", "yarn on control ring")
OWN = ("bare spindle and its drive", "drafting", "suction")
POWER, PER_MASS = ("power", "W"), "kWh/kg"


def energy_sheet(mill: Mill, doff: Doff, energy: Energy, sways: tuple[Sway, ...], tried: Trial) -> Sheet:
    """Tell the power of one spindle by part, the energy of a kilogram, and which of it was computed."""
    choice, means = doff.choice, energy.means
    total, of_yarn = sum(means.values()), sum(means[name] for name in OF_YARN)
    kilogram = digits(sum(energy.per_mass.values()) / KWH, 0.001)
    mean = digits(total, 0.01)
    answer = (
        f"One spindle draws {mean} W from the mains in the mean of a doff, and a kilogram of yarn takes {kilogram} "
        f"kWh. Traveller, balloon and control ring take {digits(of_yarn, 0.01)} W of it."
    )
    figure = Picture(
        title="Power of one spindle by part, through the doff", svg=power_chart(doff, energy), headed=True,
        words=f"Each part stacked on the one below it, the mean of each stroke; {mean} W in all in the mean.",
    )  # fmt: skip
    return Sheet(
        title=f"{choice.frame.name}, {choice.yarn.name}: energy by part",
        answer=answer,
        rows=(*_rows(mill, energy, doff, of_yarn), *setting_rows(choice, tried)),
        tables=(_parts(energy, mill, total), *_sways(sways, sum(energy.per_mass.values()))),
        pictures=(figure,),
        notes=(
            "While the figures of [mill.power] are assumed, trust differences between settings more than the sum.",
            (
                "A check: at every place the winding yarn gives as much as traveller, balloon and control ring take, "
                f"but for the solver's rounding ({_tiny(energy.imbalance)} of it)."
            ),
            "Doff stops and the air plant are left out.",
        ),
    )  # fmt: skip


def _rows(mill: Mill, energy: Energy, doff: Doff, of_yarn: float) -> tuple[Row, ...]:
    spindles, own = doff.choice.frame.spindles, sum(energy.means[name] for name in OWN)
    per_mass, total = sum(energy.per_mass.values()), sum(energy.means.values())
    return (
        Row(name="Energy of a kilogram of yarn", value=digits(per_mass / KWH, 0.001), unit=PER_MASS, origin=COMPUTED,
            raw=per_mass),
        row("One spindle, mean over the doff", total, POWER, 2),
        row("Least in the doff", float(energy.drawn.min()), POWER, 1),
        row("Most in the doff", float(energy.drawn.max()), POWER, 1),
        row(f"The frame, {spindles} spindles", total * spindles, ("power", "kW"), 1),
        row("Traveller, balloon and control ring", of_yarn, POWER, 2),
        row("Of the whole, on the mill's own figures", own, POWER, 1, origin=_own_origin(mill),
            note="bare spindle, drafting and suction of [mill.power]"),
    )  # fmt: skip


def _own_origin(mill: Mill) -> str:
    """Give the weakest origin of the mill's own figures."""
    words = {origin_of(mill, f"power.{FROM_MILL[name]}")[0] for name in OWN}
    return next(word for word in ("assumed", "common practice", "measured") if word in words)


def _parts(energy: Energy, mill: Mill, total: float) -> Table:
    rows = [
        (name, digits(mean, 0.01), digits(100 * mean / total, 0.1), digits(energy.per_mass[name] / KWH, 0.001),
         _origin(name, mill))
        for name, mean in energy.means.items()
    ]  # fmt: skip
    whole = digits(sum(energy.per_mass.values()) / KWH, 0.001)
    rows.append(("drawn from the mains", digits(total, 0.01), "100.0", whole, "computed from the above"))
    return Table(
        title="One spindle, mean over the doff",
        columns=("Part", "W", "share, %", PER_MASS, "origin"),
        rows=tuple(rows),
        origin="each row says its own origin",
        numbers=(1, 2, 3),
    )


def _origin(name: str, mill: Mill) -> str:
    key = FROM_MILL.get(name)
    if key is None:
        return COMPUTED
    word, _ = origin_of(mill, f"power.{key}")
    return f"computed; {key} {word}" if name in {"cop in the air", "motor and inverter"} else word


def _sways(sways: tuple[Sway, ...], middle: float) -> tuple[Table, ...]:
    """Say how far the energy of a kilogram moves with what nobody has read."""
    if not sways:
        return ()
    low, high = (digits(end / KWH, 0.01) for end in together(sways, middle))
    rows = [(one.name, digits(one.low / KWH, 0.01), digits(one.high / KWH, 0.01), one.origin) for one in sways]
    return (
        Table(
            title="How far the sum may sway",
            columns=("What nobody has read", f"low, {PER_MASS}", f"high, {PER_MASS}", "range is"),
            rows=(*rows, ("all, if each goes its own way", low, high, COMPUTED)),
            origin="computed, one at a time over its range",
            numbers=(1, 2),
        ),
    )


def _tiny(value: float) -> str:
    return f"{value:.0e}".replace("e-0", "e-")
