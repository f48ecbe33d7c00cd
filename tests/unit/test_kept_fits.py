"""A kept fit read back: its values stand in the mill, its errors hang together in the spread, wrong ones are told."""

import shutil
from dataclasses import replace

import numpy as np
import pytest
from click.testing import CliRunner
from scipy.special import ndtri

from ringwright.cli.main import ringwright
from ringwright.judgement import judge
from ringwright.mill import demo_mill_path, origin_of, read_mill
from ringwright.refusal import Refusal
from ringwright.setting.choice import Trial, choose
from ringwright.uncertainty.calibration import calibrate
from ringwright.uncertainty.inputs import inputs_of
from ringwright.uncertainty.keeping import calibration_toml, find_fit
from ringwright.uncertainty.kept import read_fit, with_fit
from ringwright.uncertainty.ranking import bound_together, design, indices
from ringwright.uncertainty.readings import read_readings
from ringwright.uncertainty.spread import study_spread

MILL = read_mill(demo_mill_path())
FIT = demo_mill_path() / "calibration" / "F1-AV30K-2026-03-14.toml"
TEXT = FIT.read_text(encoding="utf-8")
KEPT = read_fit(TEXT, FIT.name)
DEMO = ("demo", "--frame", "F1", "--yarn", "AV30K")


def run(*words):
    return CliRunner().invoke(ringwright, words, catch_exceptions=False)


def test_the_fit_of_the_demo_mill_is_what_its_readings_give():
    found = calibrate(
        choose(MILL, "F1", "AV30K"),
        read_readings((demo_mill_path() / "readings_F1_AV30K.csv").read_text(encoding="utf-8"), "r.csv"),
    )
    again = read_fit(calibration_toml(found, "2026-03-14", "r.csv"), "r.toml")
    assert again.values == pytest.approx(found.fit.values, rel=1e-5)
    assert again.log_covariance == pytest.approx(found.fit.log_covariance, rel=1e-4)
    assert again.interval() == pytest.approx(found.fit.interval(), rel=1e-4)
    assert KEPT.values == pytest.approx(again.values, rel=0.02)
    assert (KEPT.readings, KEPT.freedom, KEPT.date) == (16, 13, "2026-03-14")


def test_the_readings_simulated_values_lie_in_the_fits_intervals():
    # The demo's readings were simulated with ring friction 0.12, yarn friction 0.25 and drag 1.2.
    for (low, high), planted in zip(KEPT.interval(), (0.12, 0.25, 1.2), strict=True):
        assert low < planted < high


def test_a_fit_stands_in_frame_and_yarn_as_measured_with_its_date_and_leaves_the_mill_alone():
    fitted = with_fit(MILL, KEPT)
    ring, yarn = fitted.frames["F1"].ring, fitted.yarns["AV30K"]
    assert (ring.friction, yarn.traveller_friction, yarn.drag_coefficient) == pytest.approx(tuple(KEPT.values))
    assert (ring.friction_low, ring.friction_high) == pytest.approx(tuple(KEPT.interval()[0]))
    assert origin_of(fitted.frames["F1"], "ring.friction") == ("measured", "fitted on 2026-03-14 from 16 readings")
    assert origin_of(yarn, "drag_coefficient")[0] == "measured"
    assert "traveller_friction" not in yarn.spread
    assert MILL.frames["F1"].ring.friction == 0.10
    assert fitted.frames["F2"] is MILL.frames["F2"]


def test_the_judgement_spans_the_fits_interval():
    judged = judge(with_fit(MILL, KEPT), "F1", "AV30K")
    low, high = KEPT.interval()[0]
    assert judged.frictions == pytest.approx((low, KEPT.values[0], high))


def test_fitted_inputs_come_first_with_their_errors_and_one_tried_otherwise_is_left_out():
    fitted = with_fit(MILL, KEPT)
    found = {one.key: one for one in inputs_of(choose(fitted, "F1", "AV30K"), KEPT)}
    assert [one.key for one in found.values() if one.log_error] == list(KEPT.keys)
    assert found["frame.ring.friction"].low == pytest.approx(KEPT.interval()[0, 0])
    assert found["yarn.drag_coefficient"].origin == "fitted on 2026-03-14 from 16 readings"
    tried = choose(fitted, "F1", "AV30K", Trial(ring_friction=0.2))
    assert "frame.ring.friction" not in {one.key for one in inputs_of(tried, KEPT) if one.log_error}


def test_chances_bound_together_have_the_correlation_asked_and_their_own_margins():
    correlation = np.array([[1.0, 0.8, -0.5], [0.8, 1.0, -0.3], [-0.5, -0.3, 1.0]])
    points = design(4, 6 * 4096).points
    bound = bound_together(points, (0, 1, 3), correlation)
    assert np.corrcoef(ndtri(bound[:, [0, 1, 3]]).T) == pytest.approx(correlation, abs=0.01)
    assert bound[:, 2] == pytest.approx(points[:, 2])
    for column in bound.T:
        assert np.quantile(column, [0.1, 0.5, 0.9]) == pytest.approx([0.1, 0.5, 0.9], abs=0.01)


def test_two_values_that_cannot_be_told_apart_have_a_root_too():
    bound = bound_together(np.random.default_rng(1).random((500, 2)), (0, 1), np.ones((2, 2)))
    assert bound[:, 0] == pytest.approx(bound[:, 1], abs=1e-3)


def test_inputs_that_hang_together_are_ranked_as_one_with_the_share_worked_out():
    # y = x1 + x2 + 2 x3, all normal of variance 1, x1 and x2 with correlation 0.5: the pair makes 1 + 1 + 2 x 0.5 = 3
    # of the variance, x3 makes 4.
    plan = design(3, 4 * 4096, groups=((0, 1), (2,)))
    bound = bound_together(plan.points, (0, 1), np.array([[1.0, 0.5], [0.5, 1.0]]))
    x = ndtri(np.clip(bound, 1e-9, 1 - 1e-9))
    found = indices(x @ np.array([1.0, 1.0, 2.0]), plan)
    assert found.total == pytest.approx([3 / 7, 4 / 7], abs=0.02)
    assert found.first == pytest.approx(found.total, abs=0.02)


def test_a_spread_with_the_fit_is_narrower_than_with_its_inputs_drawn_apart():
    # Ring and yarn friction were fitted with a correlation of 0.98: tensions at the guide are known better than either.
    fitted = choose(with_fit(MILL, KEPT), "F1", "AV30K")
    together = study_spread(fitted, 128, fitted=KEPT)
    assert together.groups[0] == (0, 1, 2)
    wide = np.diag(np.diag(KEPT.log_covariance))
    apart = study_spread(fitted, 128, fitted=replace(KEPT, log_covariance=wide))
    width = [float(np.ptp(one.interval()[0])) for one in (together, apart)]
    assert width[0] < 0.6 * width[1]


@pytest.fixture
def mill(tmp_path):
    folder = tmp_path / "mill"
    shutil.copytree(demo_mill_path(), folder)
    return folder


def test_the_latest_fit_is_found_by_word_date_and_file(mill):
    older = mill / "calibration" / "F1-AV30K-2025-11-02.toml"
    older.write_text(TEXT.replace("date = 2026-03-14", "date = 2025-11-02"), encoding="utf-8")
    where = str(mill)
    assert find_fit(where, "F1-AV30K", "latest").name == FIT.name
    assert find_fit(where, "F1-AV30K", "2025-11-02") == older
    assert find_fit(where, "F1-AV30K", str(older)) == older
    with pytest.raises(Refusal, match="latest, the date of a kept fit"):
        find_fit(where, "F1-AV30K", "2025-11-03")
    with pytest.raises(Refusal, match=r"none is kept.*ringwright calibrate"):
        find_fit(where, "F2-AV30K", "latest")


@pytest.mark.parametrize("command", ["energy", "breaks", "cost", "course", "limits", "card"])
def test_commands_say_which_fit_they_use(command, tmp_path):
    out = ("--out", str(tmp_path)) if command == "card" else ()
    told = " ".join(run(command, *DEMO, "--fit", "latest", *out).output.split())
    assert "fitted on 2026-03-14 from 16 readings" in told
    if command != "card":
        assert "could not tell ring friction and yarn friction apart" in told


def test_a_fit_changes_what_a_command_computes():
    before, after = (run("limits", *DEMO, *words).output for words in ((), ("--fit", "latest")))
    assert "largest tension at the spinning triangle 32.2" in before.replace("\n  ", " ")
    assert "largest tension at the spinning triangle 38." in after.replace("\n  ", " ")


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("value = 0.114079", "value = 9.0", "out of its range"),
        ("ran_to_the_edge = []", 'ran_to_the_edge = ["drag"]', "drag ran to the end of its range"),
        ("correlation_of_logarithms", "correlation", "without what a fit needs"),
        ("[[1.0, 0.977303", "[[1.0, 1.977303", "no correlation of the parameters"),
        ("readings_to_spare = 13", "readings_to_spare = 3", "do not fit together"),
        ('fitted."drag"', 'fitted."drug"', "no known parameter: drug"),
        ("frame = ", "frame ", "no TOML"),
    ],
)
def test_a_fit_that_cannot_be_used_is_refused_in_a_sentence(old, new, words):
    assert old in TEXT
    with pytest.raises(Refusal, match=words):
        read_fit(TEXT.replace(old, new), "f.toml")


def test_a_fit_of_another_frame_is_refused():
    with pytest.raises(Refusal, match="of F1 with AV30K; it must be of F3 with AV30K"):
        run("energy", "demo", "--frame", "F3", "--yarn", "AV30K", "--fit", str(FIT))


def test_a_value_that_the_fit_held_and_the_mill_has_changed_since_is_told():
    held = read_fit(
        TEXT.split('[calibration."F1-AV30K".fitted."drag"]')[0]
        .replace(
            "correlation_of_logarithms = [[1.0, 0.977303, -0.726865], [0.977303, 1.0, -0.569696],"
            " [-0.726865, -0.569696, 1.0]]",
            "correlation_of_logarithms = [[1.0, 0.9], [0.9, 1.0]]",
        )
        .replace("readings_to_spare = 13", "readings_to_spare = 1")
        + '[calibration."F1-AV30K".held]\n"drag" = 0.8\n'
        + '[[calibration."F1-AV30K".readings]]\nminute = 3.0\n' * 3,
        "f.toml",
    )
    assert held.names == ("ring friction", "yarn friction")
    (told,) = [note for note in held.notes(MILL) if "held" in note]
    assert told == "The fit held drag at 0.8; the mill's file now says 1: fit again."
