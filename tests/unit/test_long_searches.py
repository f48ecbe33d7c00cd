"""Long searches: every frame in turn, progress told, and an end with the best so far by hand or by signal."""

import os
import pty
import signal
import subprocess
import sys
import threading

import pytest
from click.testing import CliRunner

from ringwright.cli.main import ringwright
from ringwright.cli.stopping import until_stopped
from ringwright.improve.better import Question, seek
from ringwright.improve.parts import Reach
from ringwright.improve.run import cost_of
from ringwright.improve.survey import ended_early, survey
from ringwright.improve.watch import STOPPED, Watch
from ringwright.mill import demo_mill_path, read_mill
from ringwright.refusal import Refusal
from ringwright.setting.choice import choose
from ringwright.uncertainty.spread import study_spread

MILL = read_mill(demo_mill_path())
TRAVELLER = Reach().keeping(
    ("control-ring-diameter", "control-ring-height", "control-ring-lift", "guide-height", "guide-lift")
)


def of(*names):
    """The demo mill with some of its settings alone."""
    return MILL.model_copy(update={"settings": {name: MILL.settings[name] for name in names}})


def question(mill, **more):
    return Question(mill=mill, frame="", yarn="", aim="cost", reach=TRAVELLER, **more)


@pytest.fixture(scope="module")
def surveyed():
    told: list[str] = []
    found = survey(question(of("F1-AV30K", "F3-AV20W")), Watch(told.append))
    return found, told


def test_each_setting_has_its_first_change_and_its_worth(surveyed):
    found, _ = surveyed
    assert [(one.frame, one.yarn) for one in found.settings] == [("F1", "AV30K"), ("F3", "AV20W")]
    first = found.settings[0].study
    assert first.singles[0].axis.key == "traveller"
    assert first.first.cost.total < first.as_set.cost.total
    assert not ended_early(found)


def test_progress_names_the_setting_and_how_many_there_are(surveyed):
    _, told = surveyed
    assert told[0].startswith("F1 AV30K, 1 of 2: ")
    assert any(words.startswith("F3 AV20W, 2 of 2: ") for words in told)


def test_a_setting_that_cannot_be_run_is_told_and_the_others_are_searched():
    mill = of("F1-AV30K", "F4-AV60C")
    light = mill.travellers["T20"].model_copy(update={"mass": 6e-6})
    found = survey(question(mill.model_copy(update={"travellers": mill.travellers | {"T20": light}})))
    assert found.settings[0].study is not None
    assert found.settings[1].study is None
    assert "without a steady balloon" in found.settings[1].refused[0]


def test_a_mill_without_settings_is_refused():
    with pytest.raises(Refusal, match="the settings of the mill is none"):
        survey(question(of()))


def test_a_survey_that_is_ended_leaves_the_settings_not_begun():
    told: list[str] = []
    found = survey(question(of("F1-AV30K", "F3-AV20W")), Watch(told.append, lambda: bool(told)))
    assert found.left == (("F3", "AV20W"),)
    assert ended_early(found)


@pytest.mark.parametrize("after", [1, 2])
def test_a_search_that_is_ended_in_any_phase_answers_with_the_best_so_far(after):
    told: list[str] = []
    watch = Watch(told.append, lambda: len(told) >= after)
    study = seek(Question(mill=MILL, frame="F1", yarn="AV30K", aim="cost"), watch)
    assert study.found.ended == STOPPED
    assert study.speeds_alone is not None
    assert cost_of(study.best) <= cost_of(study.speeds_alone)
    assert len(study.found.picks) <= 110 * after


def test_a_search_ended_before_anything_keeps_the_limits_says_that_it_was_stopped():
    mill = of("F3-AV20W")
    with pytest.raises(Refusal, match="stopped early"):
        seek(Question(mill=mill, frame="F3", yarn="AV20W"), Watch(stopped=lambda: True))


def test_a_spread_that_is_ended_tells_the_doffs_solved_by_then():
    told: list[str] = []
    study = study_spread(choose(MILL, "F1", "AV30K"), 600, watch=Watch(told.append, lambda: bool(told)))
    assert study.values.shape[1] == 128 < study.asked
    assert told == [f"128 of {study.asked} doffs solved"]
    assert all(found is None for found in study.ranking)


def test_a_signal_asks_for_the_end_and_the_old_ways_come_back():
    before = signal.getsignal(signal.SIGTERM)
    with until_stopped() as stopped:
        assert not stopped()
        os.kill(os.getpid(), signal.SIGTERM)
        assert stopped()
        with pytest.raises(SystemExit):
            signal.raise_signal(signal.SIGTERM)
    assert signal.getsignal(signal.SIGTERM) is before


def test_beside_the_main_thread_nothing_is_changed():
    seen = []

    def elsewhere():
        with until_stopped() as stopped:
            seen.append(stopped())

    thread = threading.Thread(target=elsewhere)
    thread.start()
    thread.join()
    assert seen == [False]


def test_ctrl_c_at_a_terminal_ends_the_search_with_the_best_so_far():
    ours, theirs = pty.openpty()
    words = "improve demo --frame F1 --yarn AV30K --for cost"
    command = [sys.executable, "-m", "ringwright", *words.split()]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=theirs, text=True) as process:  # noqa: S603
        os.close(theirs)
        shown = b""
        while b"candidates tried" not in shown:
            shown += os.read(ours, 1000)
        process.send_signal(signal.SIGINT)
        told, _ = process.communicate(timeout=60)
    os.close(ours)
    assert process.returncode == 0
    assert "Ctrl-C ends with the best so far" in shown.decode()
    assert "the search ended because it was stopped by hand" in " ".join(told.split())
    assert "best parts and speeds" in told


def run(*words):
    return CliRunner().invoke(ringwright, words, catch_exceptions=False)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "--all-frames"),
        (("--frame", "F1"), "--frame and --yarn"),
        (("--all-frames", "--frame", "F1"), "--frame belong to one setting"),
        (("--all-frames", "--for", "tension"), "the aim is cost"),
        (("--all-frames", "--counts", "c.csv"), "--counts belong to one setting"),
        (("--frame", "F1", "--yarn", "AV30K", "--records", "demo"), "go with --for cost"),
    ],
)
def test_options_that_do_not_go_together_are_refused(words, said):
    told = run("improve", "demo", *words)
    assert told.exit_code == 2
    assert said in told.output


def test_all_frames_are_told_with_worth_and_what_to_mind(tmp_path):
    mill = tmp_path / "mill"
    mill.mkdir()
    for file in demo_mill_path().glob("*.toml"):
        text = file.read_text(encoding="utf-8")
        if file.name == "settings.toml":
            kept = text[text.index("[setting.F1-AV30K]") : text.index("[setting.F1-AV40B]")]
            text = kept
        (mill / file.name).write_text(text, encoding="utf-8")
    keep = [word for name in ("control-ring-diameter", "control-ring-height", "control-ring-lift", "guide-height",
                              "guide-lift") for word in ("--keep", name)]  # fmt: skip
    told = run("improve", str(mill), "--all-frames", *keep, "--out", str(tmp_path / "out")).output
    assert "First: traveller 45 mg to 35.5 mg." in told
    assert "units a year" in told
    assert "t yarn a year" in told
    assert "Stop and lock out before changing travellers" in " ".join(told.split())
    assert (tmp_path / "out" / "all-frames.json").exists()
