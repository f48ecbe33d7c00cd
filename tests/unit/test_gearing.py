"""What a train of wheels gives, which wheel is chosen, and what is refused."""

import pytest

from ringwright.physics.gearing import Train, nearest_wheel, train_value
from ringwright.refusal import Refusal

# 20/40 and a change wheel driving 50 T: a quarter of a hundredth a tooth, by hand.
DRIVING = Train(pairs=((20, 40), (30, 50)), change_pair=1, change_side="driver")
DRIVEN = Train(pairs=((20, 40), (50, 30)), change_pair=1, change_side="driven")


def test_a_train_multiplies_drivers_over_driven():
    assert train_value(DRIVING) == pytest.approx(20 / 40 * 30 / 50)


def test_another_change_wheel_changes_the_value():
    assert train_value(DRIVING, 60) == pytest.approx(0.6)
    assert train_value(DRIVEN, 25) == pytest.approx(1.0)


def test_a_factor_turns_the_ratio_into_the_quantity():
    train = Train(pairs=((1, 2),), change_pair=0, change_side="driver", factor=10.0)
    assert train_value(train) == pytest.approx(5.0)


def test_the_nearest_wheel_its_neighbours_and_its_error():
    choice = nearest_wheel(DRIVING, [40, 50, 60], 0.52)
    assert choice.exact_teeth == pytest.approx(52)
    assert choice.best.teeth == 50
    assert choice.best.value == pytest.approx(0.5)
    assert choice.best.error == pytest.approx(0.5 / 0.52 - 1)
    assert choice.smaller is not None
    assert choice.smaller.teeth == 40
    assert choice.larger is not None
    assert choice.larger.teeth == 60


def test_a_driven_change_wheel_works_the_other_way():
    assert nearest_wheel(DRIVEN, range(20, 41), 0.76).best.teeth == 33  # 25 / 0.76 = 32.9


def test_the_end_wheels_have_a_neighbour_on_one_side_only():
    choice = nearest_wheel(DRIVING, [40, 50], 0.4)
    assert choice.best.teeth == 40
    assert choice.smaller is None
    assert nearest_wheel(DRIVING, [40, 50], 0.5).larger is None


def test_of_two_equally_near_the_smaller_is_taken():
    assert nearest_wheel(DRIVING, [50, 70], 0.6).best.teeth == 50


def test_half_a_tooth_beyond_the_last_wheel_is_still_reached():
    assert nearest_wheel(DRIVING, [40, 50], 0.504).best.teeth == 50
    with pytest.raises(Refusal):
        nearest_wheel(DRIVING, [40, 50], 0.506)


@pytest.mark.parametrize(("train", "low_teeth", "high_teeth"), [(DRIVING, 40, 50), (DRIVEN, 50, 40)])
def test_a_target_out_of_reach_is_refused_with_the_range(train, low_teeth, high_teeth):
    with pytest.raises(Refusal) as refused:
        nearest_wheel(train, [40, 50], 2.0, where="The total draft")
    sentence = str(refused.value)
    assert "The total draft is 2" in sentence
    assert f"change wheel {low_teeth} T" in sentence
    assert f"change wheel {high_teeth} T" in sentence
    assert sentence.index(f"wheel {low_teeth} T") < sentence.index(f"wheel {high_teeth} T")


def test_the_refusal_says_which_wheel_would_do():
    with pytest.raises(Refusal, match=r"change wheel of 200\.0 teeth"):
        nearest_wheel(DRIVING, [40, 50], 2.0)


def test_several_faults_of_a_train_are_told_together():
    with pytest.raises(Refusal) as refused:
        Train(pairs=((20, 0), (0, 4)), change_pair=7, change_side="driver", factor=-1.0)
    assert len(refused.value.faults) == 4


def test_a_train_needs_wheels():
    with pytest.raises(Refusal, match="at least one pair"):
        Train(pairs=(), change_pair=0, change_side="driver")


def test_no_wheels_and_a_target_below_zero_are_told_together():
    with pytest.raises(Refusal) as refused:
        nearest_wheel(DRIVING, [], -1.0)
    assert len(refused.value.faults) == 2


def test_a_wheel_without_teeth_is_refused():
    with pytest.raises(Refusal, match="1 tooth or more"):
        nearest_wheel(DRIVING, [0, 30], 0.3)


def test_a_target_that_is_no_number_is_refused():
    with pytest.raises(Refusal, match="above zero"):
        nearest_wheel(DRIVING, [30], float("nan"))
