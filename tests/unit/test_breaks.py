"""The break model, the counts that calibrate it, and the piecer's round, against values from R and whole chains."""

from itertools import product
from math import exp, log, sqrt

import numpy as np
import pytest
from scipy.integrate import dblquad

from ringwright.economy.break_counts import factor_from_counts, regress_on_tension
from ringwright.economy.breaks import (
    Law,
    Strength,
    Stress,
    break_chance,
    break_rate,
    moment,
    normal_break_chance,
    rate_ratio,
    strength_of,
    thin_place,
    weibull_shape,
)
from ringwright.economy.piecing import constant_service, exponential_service, largest_round, patrol
from ringwright.refusal import Refusal

GRAM_PER_TEX = 9.80665e-3 / 1e-6  # 1 gf/tex in N m/kg

# Values named R were computed with R 4.2.2 (pnorm, integrate, uniroot, qgamma, dnbinom, optim) outside this project.


@pytest.mark.parametrize(
    ("cv", "shape"),
    [(0.06, 20.68047507), (0.08, 15.34819948), (0.1, 12.15343419), (0.15, 7.906926805), (0.3, 3.713772366)],
)
def test_the_weibull_shape_of_a_spread_is_that_of_r(cv, shape):
    assert weibull_shape(cv) == pytest.approx(shape, rel=1e-8)


def test_the_strength_law_has_the_mean_and_spread_it_was_made_from():
    law = strength_of(3.25, 0.085)
    draws = law.scale * np.random.default_rng(1).weibull(law.shape, 400_000)
    assert draws.mean() == pytest.approx(3.25, rel=1e-3)
    assert draws.std() / draws.mean() == pytest.approx(0.085, rel=5e-3)


@pytest.mark.parametrize(
    ("given", "r"),
    [
        ((10, 200, 1, 80, 12), (2.482279073e-4, 2.850228963e-4)),
        ((12, 180, 0.5, 70, 10), (1.849940903e-5, 2.269160655e-5)),
        ((8, 220, 1, 90, 15), (1.525078311e-3, 1.681320549e-3)),
    ],
)
def test_the_chance_of_a_break_is_that_of_r(given, r):
    m, s0, length, mean, sd = given
    law = Strength(shape=m, scale=s0, length=1.0)
    assert break_chance(mean, sd / mean, law, length, "normal") == pytest.approx(r[0], rel=1e-6)
    assert break_chance(mean, sd / mean, law, length, "lognormal") == pytest.approx(r[1], rel=1e-6)


@pytest.mark.parametrize(("given", "r"), [((200, 24, 80, 16), 1.589486881e-5), ((150, 30, 60, 12), 0.002672838436)])
def test_normal_against_normal_is_that_of_r(given, r):
    assert normal_break_chance(*given) == pytest.approx(r, rel=1e-8)


LAWS: tuple[Law, ...] = ("constant", "normal", "gamma", "lognormal")
# Breaks per 1000 spindle hours by hand formula: constant, normal, gamma, lognormal spread of tension.
RATES = [
    ((20, 0.5, 14, 300, 60, 0.15), (0.000393216, 0.00203185, 0.00254331, 0.00297847)),
    ((20, 0.5, 12, 260, 55, 0.2), (0.0192701, 0.135710, 0.193835, 0.256498)),
    ((18, 0.5, 10, 250, 40, 0.2), (0.0237495, 0.0955154, 0.118498, 0.138725)),
]


@pytest.mark.parametrize(("given", "rates"), RATES)
def test_spread_of_tension_multiplies_the_breaks(given, rates):
    v, l0, m, s0, mean, cv = given
    law = Strength(shape=m, scale=s0, length=l0)
    for name, rate in zip(LAWS, rates, strict=True):
        found = 3.6e6 * break_rate(v / 60, moment(mean, cv, m, name), law)
        assert found == pytest.approx(rate, rel=5e-6)


def test_the_rate_does_not_depend_on_the_length_looked_at_while_chances_are_small():
    law = Strength(shape=12, scale=260, length=0.5)
    rates = [3.6e6 * 20 / 60 / length * break_chance(55, 0.2, law, length) for length in (0.01, 0.5, 50)]
    assert rates == pytest.approx([0.256498, 0.256494, 0.256144], rel=5e-6)


def test_the_rate_stands_to_tension_as_its_power_and_to_speed_as_its_length():
    old = Stress(yarn_speed=0.3, log_moment=log(0.25) * 12, shape=12.0)
    new = Stress(yarn_speed=0.33, log_moment=log(0.25 * 1.05) * 12, shape=12.0)
    assert rate_ratio(new, old) == pytest.approx(1.1 * 1.05**12)
    assert rate_ratio(new, old, 0.5) == pytest.approx(1.1 * (0.5 + 0.5 * 1.05**12))
    assert rate_ratio(new, old, 0.0) == pytest.approx(1.1)
    assert new.even_tension == pytest.approx(0.2625)


@pytest.mark.parametrize(
    ("tension_gf", "cv", "z", "chance"),
    [(20, 0.14, 3.282, 5.16e-4), (15, 0.14, 4.247, 1.08e-5), (20, 0.12, None, 6.4e-5)],
)
def test_thin_places_by_hand(tension_gf, cv, z, chance):
    # z = (1 - T / (1.85 gf/tex x 20 tex)) / CV, then the normal tail from tables.
    found = thin_place(tension_gf * 9.80665e-3, 20e-6, cv, 1.85 * GRAM_PER_TEX)
    assert z is None or found[0] == pytest.approx(z, abs=6e-4)
    assert found[1] == pytest.approx(chance, rel=1e-2)


@pytest.mark.parametrize(
    ("count", "mean", "low", "high", "none_next"),
    [(3, 55.55555556, 18.03873767, 113.7954297, 0.1097924228), (0, 22.22222222, 2.691214206, 61.90714879, 0.4132653061),
     (12, 155.5555556, 85.04366974, 247.0043991, 0.002058745357)],
)  # fmt: skip
def test_gamma_and_poisson_are_those_of_r(count, mean, low, high, none_next):
    factor = factor_from_counts([count], [0.05], 2, 0.04)
    assert factor.mean == pytest.approx(mean, rel=1e-8)
    assert factor.interval() == pytest.approx((low, high), rel=1e-8)
    assert factor.chance_of(0, 0.05) == pytest.approx(none_next, rel=1e-8)


TENSIONS, COUNTS, EXPOSURES = (60, 65, 70, 75, 80, 85), (9, 14, 22, 37, 50, 92), (0.4,) * 6


def test_the_regression_without_priors_is_that_of_r():
    found = regress_on_tension(TENSIONS, COUNTS, EXPOSURES, reference=70)
    assert (found.level, found.slope) == pytest.approx((4.038961327, 6.881350704), rel=1e-8)
    assert found.standard_errors == pytest.approx((0.1027502773, 0.7088638671), rel=1e-6)


def test_laplace_agrees_with_r_and_with_sampling():
    found = regress_on_tension(TENSIONS, COUNTS, EXPOSURES, reference=70, level_prior=(log(60), 1), slope_prior=(9, 2))
    assert (found.level, found.slope) == pytest.approx((4.013204386, 7.116329039), rel=1e-6)  # R, optim
    assert found.standard_errors == pytest.approx((0.100509937, 0.6735949929), rel=1e-5)
    # R's grid of the whole posterior: mean 4.00668 and 7.13742, sd 0.10076 and 0.67458. Laplace comes within 0.1 sd.
    assert abs(found.level - 4.006677211) < 0.1 * 0.1007554039
    assert abs(found.slope - 7.137424302) < 0.1 * 0.674580609
    # Ensemble sampling (32 walkers x 3000): mean 4.0074 and 7.130, sd 0.1016 and 0.669.
    assert found.standard_errors == pytest.approx((0.1016, 0.669), rel=0.02)


def test_laplace_agrees_with_an_integral_over_the_posterior():
    x = np.log(np.array(TENSIONS) / 70)

    def density(m, a):
        mu = 0.4 * np.exp(a + m * x)
        return exp(float(np.sum(np.array(COUNTS) * np.log(mu) - mu)) - 635 - (a - log(60)) ** 2 / 2 - (m - 9) ** 2 / 8)

    def integral(power):
        return dblquad(lambda m, a: m**power * density(m, a), 3.4, 4.6, 3.5, 11.0, epsabs=0, epsrel=1e-6)[0]

    mean = integral(1) / integral(0)
    spread = sqrt(integral(2) / integral(0) - mean**2)
    found = regress_on_tension(TENSIONS, COUNTS, EXPOSURES, reference=70, level_prior=(log(60), 1), slope_prior=(9, 2))
    assert abs(found.slope - mean) < 0.1 * spread
    assert found.standard_errors[1] == pytest.approx(spread, rel=0.02)


def test_a_rate_beyond_the_counts_is_called_extrapolated():
    found = regress_on_tension(TENSIONS, COUNTS, EXPOSURES, reference=70)
    assert not found.extrapolates(60)
    assert not found.extrapolates(77)
    assert found.extrapolates(86)
    assert found.extrapolates(59)


def test_counts_that_scatter_more_than_chance_widen_the_errors():
    even = regress_on_tension(TENSIONS, COUNTS, EXPOSURES)
    wild = regress_on_tension(TENSIONS, (2, 30, 10, 60, 20, 120), EXPOSURES)
    assert wild.dispersion > 5
    assert wild.standard_errors[1] > sqrt(wild.dispersion) * 0.9 * even.standard_errors[1]


def test_the_slopes_interval_covers_the_truth_in_nineteen_of_twenty_studies():
    rng, covered, runs = np.random.default_rng(7), 0, 1200
    tensions, hours, slope = np.array([0.20, 0.22, 0.24, 0.26]), np.full(4, 2.0), 8.0
    truth = 40 * (tensions / 0.23) ** slope * hours
    for _ in range(runs):
        found = regress_on_tension(tensions, rng.poisson(truth), hours, reference=0.23)
        covered += abs(found.slope - slope) < 1.96 * found.standard_errors[1]
    assert 0.93 < covered / runs <= 0.98  # errors are never narrowed, so a little more than 95 % is right


@pytest.mark.parametrize(
    ("given", "told"),
    [(((60, 60), (5, 9), (1, 1)), "tensions that differ"), (((60, 70), (0, 0), (1, 1)), "at least one break"),
     (((60, -7), (-1, 9), (0, 1)), "more than 0")],
)  # fmt: skip
def test_counts_that_teach_nothing_are_refused(given, told):
    with pytest.raises(Refusal, match=told):
        regress_on_tension(*given)


def test_all_faults_of_the_counts_are_told_together():
    with pytest.raises(Refusal) as refused:
        regress_on_tension((60, -7), (-1, 9), (0, 1))
    assert len(refused.value.faults) == 3


@pytest.mark.parametrize(
    ("given", "r"),
    [((6, 0.1, 0.05, 1.0), (0.05338022824633823, 0.6202813694780294, 0.8605808730199009)),
     ((10, 0.02, 0.5, 2.0), (0.13803322874410853, 7.7606645748821705, 0.8893131987102038)),
     ((1200, 0.05 / 3600, 0.5, 15.0), (0.011025898486096936, 798.4661727497448, 0.9942370986927112)),
     ((2400, 0.05 / 3600, 0.5, 15.0), (0.032250588600627926, 2361.0211896226056, 0.9834906986228168))],
)  # fmt: skip
def test_the_patrol_agrees_with_the_whole_chain_in_r_and_with_its_own_printed_cases(given, r):
    found = patrol(*given)  # N = 6 and 10: the full chain of 2^(N-1) states in R; N = 1200: also simulated, 0.99421
    assert (found.down_at_visit, found.round_time, found.running) == pytest.approx(r, rel=1e-8)


def test_a_small_patrol_agrees_with_its_chain_worked_out_state_by_state():
    spindles, rate, walk, piece = 4, 0.2, 0.3, 1.5
    states = list(product((0, 1), repeat=spindles - 1))  # what the last N - 1 visits found
    chain = np.zeros((len(states), len(states)))
    for i, state in enumerate(states):
        up = 1 - exp(-rate * (spindles * walk + piece * sum(state)))  # broken since the last visit one round ago
        chain[i, states.index((*state[1:], 1))] += up
        chain[i, states.index((*state[1:], 0))] += 1 - up
    values, vectors = np.linalg.eig(chain.T)
    still = np.real(vectors[:, np.argmin(np.abs(values - 1))])
    down = float(still / still.sum() @ np.array([np.mean(state) for state in states]))
    assert patrol(spindles, rate, walk, piece).down_at_visit == pytest.approx(down, rel=1e-9)


def test_the_largest_round_is_the_last_that_leaves_enough_time():
    for rate, share in ((0.05 / 3600, 0.5), (0.2 / 3600, 0.35), (0.005 / 3600, 0.5)):
        most = largest_round(rate, 0.5, 15.0, share)
        assert patrol(most, rate, 0.5, 15.0).piecing_share <= share
        assert most == 20000 or patrol(most + 1, rate, 0.5, 15.0).piecing_share > share


def test_the_largest_round_also_keeps_its_longest_time():
    rate = 0.03 / 3600
    most = largest_round(rate, 0.5, 15.0, 0.5, 1200.0)
    assert patrol(most, rate, 0.5, 15.0).round_time <= 1200 < patrol(most + 1, rate, 0.5, 15.0).round_time


@pytest.mark.parametrize(
    ("machines", "p", "running"),
    [(2, 0.1, 1.8102), (5, 0.1, 4.4398), (6, 0.1, 5.2779), (10, 0.1, 8.2100), (10, 0.05, 9.3675), (20, 0.05, 17.4548),
     (4, 0.3, 2.6665), (5, 0.2, 3.7521)],
)  # fmt: skip
def test_constant_service_agrees_with_its_table(machines, p, running):
    # A form of Ashcroft's table, worked out and simulated outside this project.
    assert constant_service(machines, p, 1.0) == pytest.approx(running, abs=6e-5)


@pytest.mark.parametrize(
    ("given", "r"),
    [
        ((20, 0.05, 1.0, 2), (0.9423626083236227, 0.22325294249331212, 0.2704885587379347)),
        ((50, 0.05, 1.0, 3), (0.9246746736658623, 0.629228711012735, 0.570023437784795)),
    ],
)
def test_several_servers_agree_with_the_generator_solved_in_r(given, r):
    queue = exponential_service(*given)
    assert (queue.running, queue.wait, queue.chance_to_wait) == pytest.approx(r, rel=1e-8)


def test_five_machines_that_run_85_min_and_take_15():
    # Worked example: P0 .3365, L 1.2401, Lq .5766, Wq 13.04 min.
    queue = exponential_service(5, 1 / 85, 15.0)
    assert queue.idle == pytest.approx(0.3365, abs=5e-5)
    assert queue.stopped == pytest.approx(1.2401, abs=5e-5)
    assert queue.waiting == pytest.approx(0.5766, abs=5e-5)
    assert queue.wait == pytest.approx(13.04, abs=5e-3)


def test_three_breaks_on_one_spindle_in_a_shift_are_as_rare_as_chance_says():
    # 30 per 1000 spindle hours x 8 h = 0.24 expected: P(3 or more) = 0.001927 by the Poisson sum.
    sure = factor_from_counts([1e9], [1e9], 1e-9)
    assert 1 - sum(sure.chance_of(n, 0.24) for n in range(3)) == pytest.approx(0.001927, abs=1e-6)
