"""End breaks on one sheet: those of what is tried against the setting's, and what the mill's own counts say."""

from __future__ import annotations

from ringwright.economy.counting import BreakStudy
from ringwright.mill import Mill, origin_of
from ringwright.report.number import digits
from ringwright.report.sheets.rows import COMPUTED, row, setting_rows
from ringwright.report.sheets.sheet import Row, Sheet
from ringwright.setting.choice import AS_SET, Choice, Trial
from ringwright.units import in_unit, show

__all__ = ["breaks_sheet"]

PER = "per 1000 spindle hours"
CN = ("force", "cN")
NO_COUNTS = "Give the mill's own counts, by lines (--counts) or from its records (--records), to calibrate the model."


def breaks_sheet(mill: Mill, choice: Choice, study: BreakStudy, tried: Trial, origin: str = "") -> Sheet:
    """Tell how the breaks of what is tried stand to those of the setting; ``origin`` says where counts came from."""
    changed = tried != AS_SET
    return Sheet(
        title=f"{choice.frame.name}, {choice.yarn.name}: end breaks",
        answer=_answer(study, changed=changed),
        rows=(*_ratios(study, changed=changed), *_rates(study, _said(mill, origin), changed=changed),
              *setting_rows(choice, tried)),
        warnings=_beyond(study, changed=changed),
        notes=_notes(study),
    )  # fmt: skip


def _said(mill: Mill, origin: str) -> tuple[str, str]:
    """Give the origin of the mill's general figure, and where counts came from."""
    word, note = origin_of(mill, "money.breaks_per_1000_spindle_hours")
    return (f"{word}, {note}" if note else word, origin)


def _answer(study: BreakStudy, *, changed: bool) -> str:
    tension = [show(s.even_tension, "force", "cN", 1) for s in (study.as_set, study.tried)]
    if not changed:
        return (
            f"The tension that counts at the triangle is {tension[0]}: held evenly, it breaks as many ends as the "
            "doff's own course. Try another traveller or speed to see how the breaks answer."
        )
    return (
        f"Breaks per spindle hour: {digits(study.ratio, 0.01)} times those as set, if "
        f"{digits(100 * study.tension_share, 1)} % of them follow the tension; {digits(study.ratio_all_tension, 0.01)} "
        f"times if all of them do. The tension that counts goes from {tension[0]} to {tension[1]}."
    )


def _ratios(study: BreakStudy, *, changed: bool) -> tuple[Row, ...]:
    counts = "held evenly, it breaks as many ends"
    as_set = row("Tension that counts at the triangle, as set", study.as_set.even_tension, CN, 1, note=counts)
    more = 100 * (1.01**study.strength_shape - 1)
    grows = (
        Row(name="1 % more tension gives of the breaks that follow it", value=f"+{digits(more, 1)}", unit="%",
            origin=COMPUTED, raw=more / 100,
            note=f"with m = {digits(study.strength_shape, 0.1)} from the yarn's strength CV"),
    )  # fmt: skip
    if not changed:
        return (as_set, *grows)
    follow = f"if {digits(100 * study.tension_share, 1)} % of the breaks follow the tension"
    return (
        Row(name="Breaks per spindle hour, tried against as set", value=digits(study.ratio, 0.01), unit="times",
            origin=COMPUTED, raw=study.ratio, note=follow),
        Row(name="The same if all breaks follow the tension", value=digits(study.ratio_all_tension, 0.01), unit="times",
            origin=COMPUTED, raw=study.ratio_all_tension),
        as_set,
        row("The same as tried", study.tried.even_tension, CN, 1),
        *grows,
    )  # fmt: skip


def _rates(study: BreakStudy, said: tuple[str, str], *, changed: bool) -> tuple[Row, ...]:
    general, origin = said
    base = Row(name="Breaks as set", value=digits(study.base_rate, 0.1), unit=PER, origin=general,
               raw=study.base_rate, note="the mill's general figure; no counts were given")  # fmt: skip
    if study.counted is None:
        if not changed:
            return (base,)
        note = "the ratio on that general figure; take the ratio for what it is, not this rate"
        return (base, Row(name="Breaks as tried", value=digits(study.predicted, 0.1), unit=PER, origin=COMPUTED,
                          raw=study.predicted, note=note))  # fmt: skip
    breaks, hours = study.counted
    low, high = study.base_interval or (float("nan"),) * 2
    scatter = _scatter_words(study.scatter)
    rows = [
        Row(name="Breaks counted", value=digits(breaks, 1), unit="breaks", origin="measured", raw=breaks, note=origin),
        Row(name="Spindle hours counted", value=digits(hours, 1), unit="h", origin="measured", raw=hours),
        Row(name="Breaks as set, by gamma-Poisson", value=digits(study.base_rate, 0.1), unit=PER, origin=COMPUTED,
            raw=study.base_rate, note=f"{digits(low, 0.1)} to {digits(high, 0.1)}, 95 %, {scatter}"),
    ]  # fmt: skip
    return (*rows, *_regressed(study, changed=changed))


def _scatter_words(scatter: float) -> str:
    if not scatter > 1:  # also where too few counts tell it
        return "if breaks scatter by chance alone"
    return f"widened, as the counts scatter {digits(scatter, 0.1)} times more than chance"


def _regressed(study: BreakStudy, *, changed: bool) -> tuple[Row, ...]:
    found = study.regression
    if found is None:
        return ()
    error = digits(found.standard_errors[1], 0.1)
    tests = f"standard error {error}; strength tests say m = {digits(study.strength_shape, 0.1)}"
    rows = [Row(name="Slope on ln tension, by regression", value=digits(found.slope, 0.1), unit="", origin=COMPUTED,
                raw=found.slope, note=tests)]  # fmt: skip
    if found.freedom > 0:
        wider = "errors are widened by its root" if found.dispersion > 1 else ""
        rows.append(Row(name="Scatter over chance (dispersion)", value=digits(found.dispersion, 0.1), unit="times",
                        origin=COMPUTED, raw=found.dispersion, note=wider))  # fmt: skip
    if changed:
        grow = study.tried.yarn_speed / study.as_set.yarn_speed
        middle, low, high = (grow * v for v in found.rate(study.tried.even_tension))
        rows.append(Row(name="Breaks as tried, by the counts", value=digits(middle, 0.1), unit=PER, origin=COMPUTED,
                        raw=middle, note=f"{digits(low, 0.1)} to {digits(high, 0.1)}, 95 %"))  # fmt: skip
    return tuple(rows)


def _beyond(study: BreakStudy, *, changed: bool) -> tuple[str, ...]:
    found = study.regression
    if not changed or found is None or not found.extrapolates(study.tried.even_tension):
        return ()
    span = " to ".join(digits(in_unit(t, "force", "cN"), 0.1) for t in found.span)
    return (f"The rate as tried is extrapolated: the counts span {span} cN at the triangle.",)


def _notes(study: BreakStudy) -> tuple[str, ...]:
    if study.counted is None:
        return ("The model gives a ratio, no promise of a rate.", NO_COUNTS)
    if study.regression is None:
        return ("All counts stand at one tension: they fix the rate, not its growth with tension (m).",)
    return ()
