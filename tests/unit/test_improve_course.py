"""The best speed through the doff, against a doff solved again, hand arithmetic and brute force."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from ringwright.improve.asking import with_limits
from ringwright.improve.corners import Road, quickest
from ringwright.improve.course import study_course
from ringwright.improve.demand import demands, spun_doff
from ringwright.improve.drive import RPM, Drive, SpeedCourse
from ringwright.improve.run import flattest_course, whole_doff
from ringwright.judgement.stated import stated_rooms
from ringwright.mill import demo_mill_path, read_mill
from ringwright.refusal import Refusal
from ringwright.setting.choice import Trial
from ringwright.setting.doff import solve_doff
from ringwright.setting.places import Sampling

MILL = read_mill(demo_mill_path())
TIGHT = with_limits(MILL, ("strength_share=10 %",))
"""So little tension that the envelope bends through the doff."""
SMALL = Sampling(strokes=20, places=7)
CASES = (("F1", "AV30K"), ("F3", "AV30K"), ("F4", "AV60C"))


@pytest.fixture(scope="module")
def doff():
    return solve_doff(TIGHT, "F1", "AV30K", sampling=SMALL)


@pytest.fixture(scope="module")
def study(doff):
    return study_course(doff, TIGHT.limits, Drive())


def with_speeds(choice, course):
    start, base, main, _, tip = course.speeds
    speeds = {"start_speed": start, "base_speed": base, "main_speed": main, "tip_speed": tip}
    places = {"base_until": course.shares[2], "tip_from": course.shares[3]}
    return replace(choice, setting=choice.setting.model_copy(update=speeds | places))


def test_a_doff_solved_at_another_speed_asks_the_same_per_power_of_the_speed(doff):
    faster = solve_doff(TIGHT, "F1", "AV30K", Trial(main_speed=1.1 * doff.choice.setting.main_speed), SMALL)
    pairs = zip(*(demands(spun_doff(one), one.choice.frame, one.choice.yarn, TIGHT.limits) for one in (doff, faster)),
                strict=True)  # fmt: skip
    for slow, fast in pairs:
        assert fast.per_speed == pytest.approx(slow.per_speed, rel=1e-7)
    # 1.1 squared is 1.21: tension grows by 21 %, rubbing power, with 1.1 cubed, by 33.1 %
    assert faster.forces.winding_tension / doff.forces.winding_tension == pytest.approx(1.21, rel=1e-7)
    assert faster.forces.traveller_heat / doff.forces.traveller_heat == pytest.approx(1.331, rel=1e-7)


@pytest.mark.parametrize(("frame", "yarn"), CASES)
def test_the_doff_solved_again_at_the_best_course_keeps_every_limit_and_stands_at_one(frame, yarn):
    doff = solve_doff(TIGHT, frame, yarn, sampling=SMALL)
    best = study_course(doff, TIGHT.limits, Drive()).best
    again = whole_doff(TIGHT, with_speeds(doff.choice, best), SMALL)
    rooms = [room for room in stated_rooms(again, TIGHT.limits) if room.room is not None]
    assert min((room.room or 0.0) / room.scale for room in rooms) > -1e-4
    assert max(room.used or 0.0 for room in rooms) > 0.998


def brute_force(doff, limits, drive):
    """Least doff time over a grid of setting courses, held against every place; in turns over rad/s."""
    share = doff.places.share
    held = demands(spun_doff(doff), doff.choice.frame, doff.choice.yarn, limits)
    most = np.min([one.speed for one in held], axis=0)
    speeds = np.linspace(0.93 * most.min(), min(most.max(), drive.most), 45)

    def time(gap, a, b):
        with np.errstate(invalid="ignore", divide="ignore"):
            return gap * np.where(a == b, 1 / a, np.log(b / a) / (b - a))

    def kept(low, high, a, b):
        inside = (share >= low) & (share <= high)
        part = ((share[inside] - low) / (high - low)).reshape(-1, *[1] * max(np.ndim(a), np.ndim(b)))
        return np.all(a + (b - a) * part <= most[inside].reshape(part.shape) * (1 + 1e-9), axis=0)

    begun = np.full(speeds.size, np.inf)  # least time of the base, less the time that the main speed would take there
    for end in (0.01, 0.02, 0.03, 0.05, 0.08, 0.1, 0.15, 0.2, 0.3, 0.45, 0.6):
        first, base, main = np.meshgrid(speeds, speeds, speeds, indexing="ij")
        good = kept(0, end / 2, first, base) & kept(end / 2, end, base, main)
        spent = np.where(good, time(end / 2, first, base) + time(end / 2, base, main), np.inf).min(axis=(0, 1))
        level = kept(end, 0.62, speeds, speeds)
        begun = np.minimum(begun, np.where(level, spent - end / speeds, np.inf))
    ended = np.full(speeds.size, np.inf)
    for start in (0.62, 0.7, 0.8, 0.85, 0.9, 0.95, 0.99):
        whole, tip = np.meshgrid(speeds, speeds, indexing="ij")
        down = np.where(kept(start, 1, whole, tip), time(1 - start, whole, tip), np.inf).min(axis=1)
        ended = np.minimum(ended, np.where(kept(0.62, start, speeds, speeds), down + start / speeds, np.inf))
    return float((begun + ended).min())


@pytest.mark.parametrize(("frame", "yarn"), CASES)
def test_the_best_course_agrees_with_brute_force_on_a_grid_within_half_a_percent(frame, yarn):
    doff = solve_doff(TIGHT, frame, yarn, sampling=SMALL)
    drive = Drive(ramp=1e9)
    study = study_course(doff, TIGHT.limits, drive)
    least = brute_force(doff, TIGHT.limits, drive) * 2 * np.pi * study.turns
    assert study.best.doff_time(study.turns) == pytest.approx(least, rel=5e-3)
    assert study.best.doff_time(study.turns) < least * 1.001  # the grid is the coarser of the two


def test_the_time_of_a_course_is_that_of_small_steps(study):
    # the sum of d(angle) / speed over a million steps
    share = (np.arange(1_000_000) + 0.5) / 1_000_000
    steps = 2 * np.pi * study.turns * np.mean(1 / study.best.at(share))
    assert study.best.doff_time(study.turns) == pytest.approx(steps, rel=1e-8)


def test_no_ramp_of_the_course_is_faster_than_the_drive(doff):
    drive = Drive(ramp=0.3 * RPM, start_most=13000 * RPM)
    free = study_course(doff, TIGHT.limits, replace(drive, ramp=1e9)).best
    study = study_course(doff, TIGHT.limits, drive)

    def steepest(course):
        share = np.linspace(0, 1, 200_001)
        return np.abs(np.diff(course.at(share)) / np.diff(course.time(share, study.turns))).max()

    assert steepest(study.best) < 1.01 * drive.ramp  # 1 % for the rounding to 10 rpm
    assert steepest(free) > 1.5 * drive.ramp  # so the ramp does hold


def test_more_corners_never_make_less(doff):
    times = [study_course(doff, TIGHT.limits, Drive(corners=corners)).best for corners in (2, 4, 6)]
    turns = doff.problem.twist * doff.problem.yarn_length
    for fewer, more in pairwise(times):
        assert more.doff_time(turns) < fewer.doff_time(turns) * 1.0005
    assert times[-1].doff_time(turns) < times[0].doff_time(turns) * 0.999


@pytest.mark.parametrize(
    ("limit", "power"), [("traveller_speed=30 m/s", 1), ("strength_share=8 %", 2), ("traveller_heat=3 W", 3)]
)
def test_the_only_limit_relaxed_by_5_percent_pays_by_its_power_of_the_speed(limit, power):
    name = limit.split("=", maxsplit=1)[0]
    mill = with_limits(MILL, (limit,))
    doff = solve_doff(mill, "F1", "AV30K", sampling=SMALL)
    study = study_course(doff, {name: mill.limits[name]}, Drive(ramp=1e9))
    assert [one.kind.key for one in study.relaxations] == [name]
    # speed goes with limit^(1/power): 1.05, 1.05^(1/2), 1.05^(1/3)
    assert study.relaxations[0].gain == pytest.approx(1.05 ** (1 / power) - 1, abs=2e-4)


def test_the_best_constant_speed_is_the_least_of_the_envelope(study):
    assert study.flat.speeds[0] == pytest.approx(study.envelope.speed.min(), abs=10 * RPM)
    assert study.flat.speeds[0] <= study.envelope.speed.min()
    assert study.gain(study.flat) > 0.005


def test_corners_stay_where_the_mill_has_them_where_moving_them_is_worth_nothing():
    doff = solve_doff(MILL, "F3", "AV30K", sampling=SMALL)
    best = study_course(doff, MILL.limits, Drive()).best
    # on F3 the spindle's 15 000 rpm hold all through, so any place of the corners is as good
    assert best.shares == (0.0, 0.05, 0.1, 0.9, 1.0)
    assert best.speeds == pytest.approx([15000 * RPM] * 5)


def test_the_least_tension_at_a_production_is_flatter_and_lower_than_a_constant_speed(doff):
    turns = doff.problem.twist * doff.problem.yarn_length
    speed = 14000 * RPM
    course = flattest_course(doff, MILL.limits, Drive(), speed)
    assert course is not None
    assert course.mean_speed(turns) == pytest.approx(speed, rel=2e-3)
    tension = doff.forces.triangle_most / doff.places.spindle_speed**2
    assert (tension * course.at(doff.places.share) ** 2).max() < 0.99 * (tension * speed**2).max()


def test_a_limit_of_shape_is_told_as_one_that_no_speed_mends():
    mill = with_limits(MILL, ("separator_room=6 mm",))
    doff = solve_doff(mill, "F1", "AV30K", sampling=SMALL)
    breaches = study_course(doff, mill.limits, Drive()).breaches
    assert [one.key for one in breaches] == ["separator"]
    assert breaches[0].by == pytest.approx(6e-3 - doff.forces.separator_room.min())
    assert "No speed mends this" in breaches[0].words


def test_a_least_speed_above_a_limit_is_refused_with_the_two_that_fight_and_where(doff):
    with pytest.raises(Refusal, match=r"17.000.rpm, which fights the limit Yarn strength .* at minute \d+"):
        study_course(doff, TIGHT.limits, Drive(least=17000 * RPM))


def test_a_doff_without_a_steady_balloon_is_refused():
    doff = solve_doff(MILL, "F1", "AV30K", Trial(traveller_mass=12e-6), SMALL)
    with pytest.raises(Refusal, match=r"without a steady balloon at .* No speed mends this"):
        study_course(doff, MILL.limits, Drive())


def test_all_faults_of_a_drive_are_told_together():
    with pytest.raises(Refusal) as caught:
        Drive(ramp=0, least=2, most=1, corners=11)
    assert len(caught.value.faults) == 3


def test_a_limit_tried_is_read_with_its_unit_and_a_wrong_name_gets_its_nearest():
    assert with_limits(MILL, ("traveller_heat=9.5 W",)).limits["traveller_heat"].value == pytest.approx(9.5)
    with pytest.raises(Refusal) as caught:
        with_limits(MILL, ("traveler_heat=9 W", "strength_share=0 %", "separator_room=1 W"))
    assert len(caught.value.faults) == 3
    assert "Did you mean traveller_heat?" in str(caught.value)


def test_under_a_level_envelope_the_course_is_level():
    road = Road(share=np.array([0.0, 1.0]), speed=np.array([1500.0, 1500.0]), drive=Drive(), angle=1e7)
    course = quickest(road)
    assert course is not None
    assert course.speeds == pytest.approx([1500.0] * 5, rel=1e-5)


def test_no_course_is_given_where_the_least_speed_is_above_the_envelope():
    drive = Drive(least=1600.0)
    assert quickest(Road(share=np.array([0.0, 1.0]), speed=np.array([1500.0, 1500.0]), drive=drive, angle=1e7)) is None


def test_a_speed_course_reads_between_its_corners():
    course = SpeedCourse(shares=(0.0, 0.5, 1.0), speeds=(100.0, 200.0, 100.0))
    assert course.at(np.array([0.25, 0.5, 0.75])) == pytest.approx([150, 200, 150])
