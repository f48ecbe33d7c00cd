"""Centring: directions, readings, rails, names, order, what offsets do to tension, and the pointer."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import ellipe

from ringwright.centring.card import card_line
from ringwright.centring.correcting import Gauge, moves_of
from ringwright.centring.direction import clock_words, from_clock, read_clock, to_clock, way_words
from ringwright.centring.effect import AGREES, Grade, answering_of, effects_of
from ringwright.centring.in_time import in_time, offsets_at
from ringwright.centring.judging import Correction
from ringwright.centring.kinematic import tension_swing
from ringwright.centring.naming import threshold
from ringwright.centring.offsets import Offsets, offsets_of
from ringwright.centring.pointer import mean_bearing, pointer_inside
from ringwright.centring.rails import rail_of
from ringwright.centring.readings import read_centring
from ringwright.centring.scatter import mean_and_deviation
from ringwright.centring.side import Sides, sides_of
from ringwright.centring.walk import in_stops
from ringwright.centring.words import peak_words
from ringwright.physics.kernel import motion as kernel
from ringwright.refusal import Refusal
from ringwright.verbs.app import open_mill

MM = 1e-3


@pytest.fixture(scope="module")
def mill():
    return open_mill("demo")


@pytest.fixture(scope="module")
def f3(mill):
    return mill.frames["F3"]


@pytest.fixture(scope="module")
def answering(mill):
    return answering_of(mill, "F3", "AV20W")


def plain(words):
    return words.replace("\u202f", " ")


def taken(rows, f3):
    return read_centring("spindle,part,dx (mm),dy (mm)\n" + "\n".join(rows) + "\n", "r.csv", f3)


def centred(part="ring", spindles=1008):
    return Offsets(part=part, along=np.zeros(spindles), out=np.zeros(spindles), weight=np.ones(spindles))


def told_moves(moves):
    return [(one.what, round(one.along / MM, 6)) for one in moves]


# Directions


@pytest.mark.parametrize(
    ("hours", "along", "out"),
    [("12", 0.0, -0.2), ("3", 0.2, 0.0), ("6", 0.0, 0.2), ("9", -0.2, 0.0), ("4:30", 0.2 / 2**0.5, 0.2 / 2**0.5)],
)
def test_a_clock_place_is_a_vector_of_plain_geometry(hours, along, out):
    place = read_clock(hours)
    assert place is not None
    # Before side 1 numbers rise to the right: 3 o'clock is towards higher numbers, 6 o'clock to the front.
    assert from_clock(place, 0.2, 1) == pytest.approx((along, out), abs=1e-12)
    # Before side 2 they rise to the left, so right is towards lower numbers.
    assert from_clock(place, 0.2, -1) == pytest.approx((-along, out), abs=1e-12)
    assert float(to_clock(along, out, 1)) == pytest.approx(place % 12, abs=1e-9)


@pytest.mark.parametrize("text", ["13", "-1", "4:60", "4:5", "noon", "", "nan"])
def test_what_is_no_place_on_the_clock_is_none(text):
    assert read_clock(text) is None


def test_a_vector_is_said_as_a_person_reads_it_at_the_frame():
    sides = Sides(spindles=1008, sides=2, first_hand=1)
    assert plain(way_words(0.3 * MM, -0.1 * MM)) == "0.30 mm towards higher numbers and 0.10 mm away"
    assert clock_words(0.2 * MM, 0.2 * MM, 5, sides) == "half past 4"
    assert clock_words(0.2 * MM, 0.2 * MM, 600, sides) == "half past 7"


# Readings


def test_three_ways_of_reading_one_spindle_give_one_vector(f3):
    ways = {
        "dx (mm),dy (mm)": "0.3,0.4",
        # 0.3 to the right and 0.4 to the front: 180 degrees less the angle whose tangent is 3/4, 30 degrees an hour.
        "clock,amount (mm)": f"{6 - math.degrees(math.atan(0.75)) / 30:.9f},0.5",
        "at 12 (mm),at 3 (mm)": "-0.4,0.3",
        "at 12 (mm),at 3 (mm),at 6 (mm),at 9 (mm)": "-0.35,0.36,0.45,-0.24",
    }
    for head, cells in ways.items():
        got = read_centring(f"spindle,part,{head}\n7,ring,{cells}\n", "r.csv", f3)
        (one,) = got.readings
        assert (one.along, one.out) == pytest.approx((0.3 * MM, 0.4 * MM), abs=1e-9), head


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("spindle,part,dx (mm),dy (mm)\n1009,ring,0,0", "a spindle of F3, a whole number from 1 to 1008"),
        ("spindle,part,dx (mm),dy (mm)\n0,ring,0,0", "a whole number from 1 to 1008"),
        ("spindle,part,dx (mm),dy (mm)\n1,ring,0.1,", "with half of dx and dy"),
        ("spindle,part,dx (mm),dy (mm)\n1,ring,0.1,0.2 in", "it must be in mm, as is stated for it"),
        ("spindle,part,dx,dy\n1,ring,0.1 mm,0.2 in", "Write all of the row in one unit"),
        ("spindle,part,dx,dy\n1,ring,0.1,0.2", "without a unit"),
        ("spindle,part,clock,amount (mm)\n1,ring,13,0.2", "a place on the clock from 1 to 12"),
        ("spindle,part,clock,amount (mm)\n1,ring,3,-0.2", "For the other way, name the clock place across."),
        ("spindle,part,dx (mm),dy (mm),clock,amount (mm)\n1,ring,0,0,3,0.2", "Give each row one kind of reading."),
        ("spindle,part,at 12 (mm),at 3 (mm),at 6 (mm)\n1,ring,0,0,0.2", "or all of at 12, at 3, at 6, at 9"),
        ("spindle,part,at 12 (mm),at 3 (mm),at 6 (mm),at 9 (mm)\n1,ring,0.3,0,0.3,0", "as in a round ring"),
        ("frame,spindle,part,dx (mm),dy (mm)\nF1,1,ring,0,0", "Did you mean F3?"),
    ],
)
def test_a_row_that_is_no_reading_is_set_aside_with_value_and_mend(f3, text, sentence):
    got = read_centring(text, "r.csv", f3)
    assert not got.readings
    (bad,) = got.set_aside
    assert "r.csv, line 2" in bad.reason
    assert sentence in bad.reason


def test_a_frame_without_control_rings_has_none_to_read(f3):
    bare = f3.model_copy(update={"control_ring": None})
    assert "one of ring, guide" in taken(["1,control ring,0,0"], bare).set_aside[0].reason


def test_two_readings_that_contradict_are_both_set_aside_and_neither_is_lost(f3):
    got = taken(["7,ring,0.10,0.20", "7,ring,0.60,0.20", "8,ring,0,0.1"], f3)
    found = offsets_of(got, 1008, 0.03 * MM)
    assert [one.line for one in found.set_aside] == [2, 3]
    assert "contradicts 0.60 and 0.20 mm in line 3" in found.set_aside[0].reason
    assert "must agree within 0.13 mm" in plain(found.set_aside[0].reason)  # 3 x sqrt 2 x 0.03 mm = 0.127 mm
    assert np.isnan(found.offsets["ring"].along[6])
    assert found.offsets["ring"].read == 1


def test_the_one_of_three_that_strays_is_set_aside_and_the_others_are_averaged(f3):
    got = taken(["7,ring,0.10,0.20", "7,ring,0.14,0.18", "7,ring,0.90,0.20"], f3)
    found = offsets_of(got, 1008, 0.03 * MM)
    assert [one.line for one in found.set_aside] == [4]
    assert (found.offsets["ring"].along[6], found.offsets["ring"].out[6]) == pytest.approx((0.12 * MM, 0.19 * MM))


def test_a_line_written_twice_counts_once_and_is_told(f3):
    found = offsets_of(taken(["7,ring,0.10,0.20", "7,ring,0.10,0.20"], f3), 1008, 0.03 * MM)
    assert found.offsets["ring"].weight[6] == 1
    assert "word for word" in found.notes[0]


def test_repeated_readings_that_show_a_worse_gauge_are_believed(f3):
    rng = np.random.default_rng(5)
    rows = [f"{k},ring,{a:.4f},{b:.4f}" for k in range(1, 61) for a, b in rng.normal(0.0, 0.045, (2, 2))]
    found = offsets_of(taken(rows, f3), 1008, 0.03 * MM)
    assert found.repeats >= 100
    assert 0.036 * MM < found.repeatability < 0.05 * MM


# Rails, names and order


def test_the_common_line_of_a_side_is_found_beneath_spindles_that_stray(f3):
    rng = np.random.default_rng(3)
    sides, along, out = sides_of(f3), rng.normal(0, 0.05, 1008), rng.normal(0, 0.05, 1008)
    out[504:] += 0.2 + 0.16 * np.linspace(-0.5, 0.5, 504)
    out[504:1008:9] += 1.0
    offsets = Offsets(part="ring", along=along * MM, out=out * MM, weight=np.ones(1008))
    rail = rail_of(offsets, 2, sides)
    assert rail is not None
    assert rail.middle[1] == pytest.approx(0.2 * MM, abs=3 * float(rail.error[1]))
    assert rail.trend_low[1] < 0.16 * MM < rail.trend_high[1]
    assert rail.scatter[1] == pytest.approx(0.05 * MM, rel=0.15)
    assert rail_of(Offsets(part="ring", along=along[:1008] * np.nan, out=out, weight=np.ones(1008)), 1, sides) is None


def test_values_that_stray_leave_mean_and_scatter_where_they_were():
    values = np.random.default_rng(1).normal(0.0, 0.05, 2000)
    values[:120] += 0.6
    assert mean_and_deviation(values) == pytest.approx((0.0, 0.05), abs=0.003)
    assert mean_and_deviation(np.round(values, 2)) == pytest.approx((0.0, 0.05), abs=0.003)
    assert mean_and_deviation(np.zeros(9)) == (0.0, 0.0)


def test_the_threshold_is_that_of_a_coarse_and_of_a_fine_gauge():
    # A gauge fine beside the tolerance: one axis decides, 1.96 deviations over it (normal table, 2.5 % at one side).
    assert threshold(0.15, 1e-4, 1) == pytest.approx(0.15 + 1.95996e-4, abs=2e-6)
    # A gauge so coarse that the tolerance is nothing: exp(-t^2/2) = 5 % for one test, t = 2.4477 (Rayleigh).
    assert threshold(1e-9, 1.0, 1) == pytest.approx(math.sqrt(-2 * math.log(0.025)), abs=1e-3)
    assert threshold(1e-9, 1.0, 3000) == pytest.approx(math.sqrt(-2 * math.log(1 - 0.95 ** (1 / 3000))), abs=1e-6)


def test_an_offset_within_the_gauge_is_never_named(f3):
    gauge = Gauge(deviation=0.03 * MM, tests=1008)
    shifted = centred()
    shifted.out[10] = 0.19 * MM  # over the tolerance of 0.15 mm, but not beyond the gauge's doubt
    assert moves_of({"ring": shifted}, f3, gauge) == {}
    shifted.out[10] = 0.25 * MM
    (move,) = moves_of({"ring": shifted}, f3, gauge)[11]
    assert (move.what, move.along, move.out) == ("spindle", 0.0, 0.25 * MM)


def test_the_guide_is_told_for_after_the_spindle_has_moved(f3):
    gauge = Gauge(deviation=0.01 * MM, tests=2016)
    ring, guide = centred(), centred("guide")
    ring.along[4] = guide.along[4] = 0.9 * MM  # the spindle itself stands off: one move mends both
    ring.along[5] = 0.9 * MM  # the ring stands off, the guide does not: the guide follows the spindle
    moves = moves_of({"ring": ring, "guide": guide}, f3, gauge)
    assert told_moves(moves[5]) == [("spindle", 0.9)]
    assert told_moves(moves[6]) == [("spindle", 0.9), ("guide", 0.9)]
    by_ring = f3.model_copy(update={"centring": f3.centring.model_copy(update={"moved": "ring"})})
    assert told_moves(moves_of({"ring": ring, "guide": guide}, by_ring, gauge)[6]) == [("ring", -0.9)]


def test_stops_take_the_worst_first_and_walk_the_frame_once():
    sides = Sides(spindles=10, sides=2, first_hand=1)  # side 1: 1 to 5; side 2: 6 to 10, walked back from 10
    assert in_stops([2, 4, 6, 9], [5.0, 1.0, 4.0, 3.0], 2, sides) == ([2, 6], [4, 9])
    assert in_stops([9, 7, 3], [1.0, 1.0, 1.0], 3, sides) == ([3, 9, 7],)
    assert in_stops([], [], 3, sides) == ()


# Tension


def test_the_geometry_alone_agrees_with_the_handbooks_exact_values():
    # 0.5 mm off a 42 mm ring, friction 0.2: 3.132 % at d/D 0.5 and 1.410 % at 0.9, half the range by exact geometry,
    # computed by another pair of hands (not published); first order agrees within 2 %.
    for share, exact in ((0.5, 0.03132), (0.9, 0.01410)):
        assert tension_swing(0.5 * MM, 42 * MM, math.asin(share), 0.2) == pytest.approx(exact, rel=0.02)


def test_the_balloons_quasi_static_answer_is_near_the_hand_formula_and_its_own_motion_makes_it_several_times_larger(
    answering,
):
    # Two routes to the same estimate: Krause's relation swung by hand, and the balloon solved with the ring off centre
    # and no inertia. Krause's relation leaves the balloon's drag out, so they need not meet. A study by another pair of
    # hands (not published) found the quasi-static estimate 4 to 33 times too small.
    doff, ring = answering.doff, answering.choice.frame.ring
    angles = np.arcsin(doff.places.winding_diameter / ring.diameter)
    shares = np.array([tension_swing(1.0, ring.diameter, float(one), ring.friction) for one in angles])
    by_hand = shares * doff.forces.winding_tension
    still = np.abs(answering.response.ring.still_winding_tension) / by_hand
    moving = np.abs(answering.response.ring.winding_tension) / by_hand
    assert (still.min(), still.max()) == pytest.approx((0.8, 0.8), abs=0.1)
    assert moving.min() > 4
    assert moving.max() < 33


def test_twice_the_offset_swings_twice_and_a_centred_frame_not_at_all(answering, f3):
    sides, one, two = sides_of(f3), centred(), centred()
    one.along[3], two.along[3] = 0.02 * MM, 0.04 * MM
    small, large = effects_of(answering, {"ring": one}, sides), effects_of(answering, {"ring": two}, sides)
    assert large.swing[3] == pytest.approx(2 * small.swing[3], rel=1e-9)
    assert small.swing[4] == 0.0
    assert small.grade[3] == Grade.LINEAR
    assert large.peak[4] == pytest.approx(np.nanmax(answering.doff.forces.guide_tension), rel=1e-12)


def test_the_grade_falls_where_the_yarn_stops_and_again_beyond_what_was_run(answering, f3):
    sides, one = sides_of(f3), centred()
    stops = float(np.nanmin(answering.response.valid_below("ring")))
    times = [0.99, 1.01, 1.99, 2.01, 4.0, 20.0]
    one.out[: len(times)] = np.array(times) * stops
    found = effects_of(answering, {"ring": one}, sides)
    assert found.reversal[: len(times)] == pytest.approx(times, rel=1e-6)
    linear, stopping, beyond = Grade.LINEAR, Grade.STOPS, Grade.BEYOND
    assert found.grade[: len(times)].tolist() == [linear, stopping, stopping, beyond, beyond, beyond]
    assert found.usual_grade[1] == linear  # in the middle one of the places the yarn still runs
    assert found.usual_grade[5] == beyond
    # The bound is 10 % below the linear peak, and rises no more once the linear answer itself has lost its ground.
    assert found.at_least[3] == pytest.approx(0.9 * found.peak[3], rel=1e-9)
    assert found.at_least[5] < 0.5 * found.peak[5]
    assert found.at_least[3] < found.at_least[4] <= found.at_least[5]


def test_a_part_that_was_not_read_has_no_grade(answering, f3):
    one = centred()
    one.along[7] = one.out[7] = np.nan
    found = effects_of(answering, {"ring": one}, sides_of(f3))
    assert found.grade[7] == -1
    assert np.isnan(found.peak[7])


def test_how_high_the_tension_rises_is_told_as_far_as_it_is_known():
    def told(grade):
        return plain(peak_words(Correction(spindle=1, side=1, moves=(), peak=0.4012, at_least=0.3811, grade=grade)))

    assert [told(grade) for grade in (Grade.LINEAR, Grade.STOPS, Grade.BEYOND, None)] == [
        "40.1 cN", "about 40 cN", "at least 38 cN", "not worked out"
    ]  # fmt: skip


@pytest.mark.skipif(not kernel.available(), reason="no compiled stepper: this machine had no C compiler")
@pytest.mark.parametrize(("part", "times"), [("ring", 2.0), ("control ring", 2.0), ("ring", 4.0)])
def test_the_motion_in_time_bears_out_f3s_peaks(answering, f3, part, times):
    # In the place of the doff that answers most; offsets counted in the one at which the yarn first stops in the doff.
    name = part.replace(" ", "_")
    one = centred(part)
    one.out[3] = times * float(np.nanmin(answering.response.valid_below(name)))
    found = effects_of(answering, {part: one}, sides_of(f3))
    place = int(found.peak_place[3])
    seen = in_time(answering, place, offsets_at(answering, {part: one}, sides_of(f3), 4))
    assert seen.stopped == ""
    assert seen.stands > 0.2
    assert seen.trough > 2 * answering.doff.forces.guide_tension[place] - found.peak[3]  # shallower than linear
    assert seen.peak > found.at_least[3] > answering.doff.forces.guide_tension[place]
    if times == 2.0:
        assert seen.peak == pytest.approx(found.peak[3], rel=AGREES)


@pytest.mark.skipif(not kernel.available(), reason="no compiled stepper: this machine had no C compiler")
def test_parts_off_together_run_through_time_as_the_linear_answer_says_where_it_is_small(answering, f3):
    ring, guide = centred(), centred("guide")
    ring.along[699], ring.out[699] = 0.004 * MM, -0.003 * MM
    guide.along[699], guide.out[699] = -0.02 * MM, -0.03 * MM
    given, sides = {"ring": ring, "guide": guide}, sides_of(f3)
    found = effects_of(answering, given, sides)
    seen = in_time(answering, int(found.place[699]), offsets_at(answering, given, sides, 700))
    assert (seen.peak - seen.trough) / 2 == pytest.approx(found.swing[699], rel=0.01)
    assert seen.stands == 0.0


def test_parts_off_the_same_way_on_the_clock_do_the_same_on_both_sides(answering, f3):
    # Guide and ring off in different directions: only the directions that a person before the spindle sees count.
    sides, ring, guide = sides_of(f3), centred(), centred("guide")
    for spindle in (100, 700):
        ring.along[spindle - 1], ring.out[spindle - 1] = from_clock(3.0, 0.05 * MM, sides.hand(spindle))
        guide.along[spindle - 1], guide.out[spindle - 1] = from_clock(7.0, 0.4 * MM, sides.hand(spindle))
    found = effects_of(answering, {"ring": ring, "guide": guide}, sides)
    assert found.swing[99] == pytest.approx(found.swing[699], rel=1e-9)


# The pointer


def test_the_yarns_mean_place_in_the_eyelet_is_that_of_an_elliptic_integral():
    # Mean of the cosine of s + k e^(i f) is the slope over s of the mean length, (2/pi)(s + k) E(4sk/(s + k)^2).
    def mean_length(s, k):
        return 2 / np.pi * (s + k) * ellipe(4 * s * k / (s + k) ** 2)

    for s, k in ((0.4, 0.1), (0.4, 0.3), (0.3, 0.55)):
        slope = (mean_length(s + 1e-6, k) - mean_length(s - 1e-6, k)) / 2e-6
        got = float(mean_bearing(np.arcsin(s), np.arcsin(k), np.array(1.0)))
        assert got == pytest.approx(slope, abs=1e-5)
    assert float(mean_bearing(np.array(0.4), np.array(0.0), np.array(0.9))) == pytest.approx(1.0)
    assert float(mean_bearing(np.array(0.4), np.array(0.4), np.array(1.0))) == pytest.approx(2 / np.pi, abs=1e-5)
    assert float(mean_bearing(np.array(0.0), np.array(0.4), np.array(1.0))) == pytest.approx(0.0, abs=1e-12)


def test_the_pointer_stands_half_a_yarn_inside_where_the_yarn_bears_on_one_place():
    assert float(pointer_inside(3 * MM, 0.2 * MM, np.array(1.0))) == pytest.approx(0.1 * MM)
    assert float(pointer_inside(3 * MM, 0.2 * MM, np.array(0.0))) == pytest.approx(1.5 * MM)
    with pytest.raises(Refusal, match="wider than the yarn"):
        pointer_inside(0.1 * MM, 0.2 * MM, np.array(1.0))


def test_the_card_has_a_line_about_centring(mill):
    line = plain(card_line(mill, "F3", "AV20W"))
    assert line.startswith("Rings centred to 0.15 mm; pointer 0.3")
    assert "rollers' side" in line
