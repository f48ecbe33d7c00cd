"""The mill's own break counts beside the model: the factor at one setting, or the slope over several."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ringwright.economy.break_counts import Regression, factor_from_counts, regress_on_tension
from ringwright.economy.breaks import Stress, doff_stress, rate_ratio, strength_of
from ringwright.economy.csv_table import Asked, read_table
from ringwright.mill import Mill
from ringwright.setting.choice import Trial
from ringwright.setting.doff import Doff, solve_doff

__all__ = ["BreakStudy", "Count", "Counted", "counted", "read_counts", "study_breaks"]

LEAST_FOR_SCATTER = 3
COLUMNS = {
    "speed": Asked("rotation", needed=False, low=100.0, high=3200.0, range="a main speed from 1 000 to 30 000 rpm"),
    "traveller": Asked("mass", needed=False, low=5e-6, high=6.3e-4, range="a traveller mass from 5 mg to 630 mg"),
    "breaks": Asked("ratio", low=0.0, range="a count of breaks, 0 or more"),
    "spindle hours": Asked("ratio", low=1e-9, range="running spindle hours, more than 0"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """Breaks counted in so many running spindle hours, at a main speed [rad/s] with a traveller [kg]; None as set."""

    breaks: float
    spindle_hours: float
    speed: float | None = None
    traveller: float | None = None


def read_counts(text: str, name: str) -> list[Count]:
    """Read counts from CSV: breaks, spindle hours, and, where they differ from the setting, speed and traveller."""
    return [
        Count(
            breaks=line.numbers["breaks"],
            spindle_hours=line.numbers["spindle hours"],
            speed=line.numbers.get("speed"),
            traveller=line.numbers.get("traveller"),
        )
        for line in read_table(text, name, COLUMNS)
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class BreakStudy:
    """How the breaks of a trial stand to those of the setting, by model alone and with the mill's counts."""

    as_set: Stress
    tried: Stress
    strength_shape: float
    tension_share: float
    ratio: float
    """Breaks per spindle hour, tried over as set, with the mill's share of breaks that follow tension."""
    ratio_all_tension: float
    """The same if all breaks followed tension."""
    base_rate: float
    """Breaks per 1000 spindle hours as set: the mill's general figure, or from the counts."""
    base_interval: tuple[float, float] | None
    regression: Regression | None
    counted: tuple[float, float] | None
    """Breaks and spindle hours counted, in all."""
    scatter: float = float("nan")
    """Pearson's chi-square of the counts about the factor over their number less one; 1 by chance; nan under three."""
    tensions: tuple[float, float] | None = None
    """Lowest and highest counting tension of the settings counted [N]."""

    @property
    def rate_as_set(self) -> tuple[float, float, float]:
        """Breaks per 1000 spindle hours of the setting as it is with their 95 % interval: middle, low, high.

        From the regression where there is one, else from the factor; the mill's general figure has no interval.
        """
        if self.regression is not None:
            return self.regression.rate(self.as_set.even_tension)
        low, high = self.base_interval or (self.base_rate, self.base_rate)
        return self.base_rate, low, high

    @property
    def predicted(self) -> float:
        """Breaks per 1000 spindle hours of the trial by the model."""
        return self.base_rate * self.ratio


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted:
    """What the mill's counts say of a setting: breaks per 1000 spindle hours with their 95 % interval, and the slope.

    ``slope`` is the power of the tension with which breaks grow, None where the counts stand at one tension; ``span``
    holds the lowest and highest tension counted [N].
    """

    rate: float
    low: float
    high: float
    slope: float | None
    span: tuple[float, float]
    breaks: float
    spindle_hours: float
    origin: str
    """Where the counts came from, in words."""

    def extrapolates(self, tension: float) -> bool:
        """Say whether a tension lies outside those counted by more than a hundredth."""
        return not self.span[0] * 0.99 <= tension <= self.span[1] * 1.01


def counted(study: BreakStudy, origin: str) -> Counted:
    """Give what a study of breaks says of the setting as it is; the study must have counts."""
    if study.counted is None or study.tensions is None:
        raise ValueError("a study without counts says nothing of the mill's own breaks")
    rate, low, high = study.rate_as_set
    slope = None if study.regression is None else study.regression.slope  # a falling one is no growth to reckon with
    return Counted(
        rate=rate, low=low, high=high, slope=slope if slope is not None and slope > 0 else None,
        span=study.tensions, breaks=study.counted[0], spindle_hours=study.counted[1], origin=origin,
    )  # fmt: skip


def study_breaks(mill: Mill, names: tuple[str, str], trial: Trial, counts: Sequence[Count] = ()) -> BreakStudy:
    """Return the study of a frame and yarn (their names) with a trial; counts calibrate it.

    Counts at one setting give the factor on the model (gamma-Poisson); counts at settings of different tension also
    give the slope on ln tension, in place of the m of strength tests.
    """
    as_set = solve_doff(mill, *names)
    yarn, share = as_set.choice.yarn, mill.money.tension_breaks_share
    shape = strength_of(yarn.strength, yarn.strength_cv).shape
    old, new = doff_stress(as_set, shape), doff_stress(solve_doff(mill, *names, trial), shape)
    scatter = float("nan")
    base, interval, regression, summed, span = mill.money.breaks_per_1000_spindle_hours, None, None, None, None
    if counts:
        stresses = [_stress(mill, names, count, as_set, shape) for count in counts]
        expected = [c.spindle_hours / 1000 * rate_ratio(s, old, share) for c, s in zip(counts, stresses, strict=True)]
        factor = factor_from_counts([c.breaks for c in counts], expected)
        scatter = _scatter(counts, expected)
        base, interval = factor.mean, factor.widened(scatter).interval()
        tensions = [stress.even_tension for stress in stresses]
        if max(tensions) / min(tensions) > 1.01:
            hours = [
                c.spindle_hours / 1000 * s.yarn_speed / old.yarn_speed for c, s in zip(counts, stresses, strict=True)
            ]
            regression = regress_on_tension(tensions, [c.breaks for c in counts], hours, reference=old.even_tension)
        span = (min(tensions), max(tensions))
        summed = (sum(c.breaks for c in counts), sum(c.spindle_hours for c in counts))
    return BreakStudy(
        as_set=old, tried=new, strength_shape=shape, tension_share=share, ratio=rate_ratio(new, old, share),
        ratio_all_tension=rate_ratio(new, old), base_rate=base, base_interval=interval, regression=regression,
        counted=summed, tensions=span, scatter=scatter,
    )  # fmt: skip


def _scatter(counts: Sequence[Count], expected: Sequence[float]) -> float:
    """Give Pearson's chi-square of counts about their own mean factor, over the number of counts less one."""
    if len(counts) < LEAST_FOR_SCATTER or not sum(c.breaks for c in counts):
        return float("nan")
    level = sum(c.breaks for c in counts) / sum(expected)
    return sum((c.breaks - level * e) ** 2 / (level * e) for c, e in zip(counts, expected, strict=True)) / (
        len(counts) - 1
    )


def _stress(mill: Mill, names: tuple[str, str], count: Count, as_set: Doff, shape: float) -> Stress:
    if count.speed is None and count.traveller is None:
        return doff_stress(as_set, shape)
    tried = Trial(traveller_mass=count.traveller, main_speed=count.speed)
    return doff_stress(solve_doff(mill, *names, tried), shape)
