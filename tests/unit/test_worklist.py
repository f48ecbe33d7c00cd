"""The work list: findings and rooms made into tasks, put in order, ticked, and held to what follows."""

from __future__ import annotations

import json
import math
import sqlite3
from dataclasses import replace
from datetime import UTC, datetime
from io import BytesIO

import numpy as np
import pytest
from click.testing import CliRunner
from pypdf import PdfReader
from sample_tasks import FRAMES, KNOWN, MILL, answer, found, listed
from scipy import stats

from ringwright.cli.main import ringwright
from ringwright.findings.finding import Estimate, Sureness
from ringwright.judgement.cautions import cautions
from ringwright.judgement.room import BALLOON, Kind, Place, Room
from ringwright.refusal import Refusal
from ringwright.report.worklist_sheet import list_html, list_pdf
from ringwright.report.worklist_text import list_text
from ringwright.report.worklist_view import DoneRow, ListToShow
from ringwright.store.ledger import LEDGER, MIGRATIONS, open_ledger
from ringwright.store.ticks import TakenBack, Tick
from ringwright.worklist.follow_up import BeforeAfter, FollowUp, follow_up, follow_up_of_trial
from ringwright.worklist.listing import IF_TIME, WHOLE_MILL, grouped, make_list
from ringwright.worklist.task import task_key
from ringwright.worklist.wording import ALWAYS, REACH, WORDING, cautions_for

MADE_AT = datetime(2026, 4, 14, 6, tzinfo=UTC)


def room(value, low=None, high=None):
    kind = Kind(key="tube", name="Tube tip", quantity="length", unit="mm", measured="balloon's radius")
    place = Place(index=0, time=60.0, stroke=0, part="foot", winding_diameter=0.02)
    return Room(kind=kind, authority=BALLOON, place=place, room=value, value=0.01, limit=0.009, low=low, high=high,
                band="ring friction 0.08 to 0.13")  # fmt: skip


def test_one_walks_up_side_1_and_back_down_side_2():
    work = listed(*(found("spindle", "F1", (k,)) for k in (990, 700, 400, 20)))
    # Place 200 of side 2 is passed after its place 490: one comes back towards place 1.
    assert [one.spindles[0] for one in work.tasks] == [20, 400, 990, 700]


def test_each_frame_is_gone_to_once_and_what_is_of_no_frame_last():
    # Without frame by frame the frame's own task would stand away from its walk, as it has no effect in breaks.
    work = listed(found("place in the cop", "F1"), found("shift", "", shift="2026-03-24 22:00"),
                  found("spindle", "F2", (9,), 3.0), found("spindle", "F1", (5,), 9.0),
                  found("spindle", "F2", (7,), 2.0, Sureness.MAY_BE_CHANCE))  # fmt: skip
    groups = [(title, [one.key for one in tasks]) for title, tasks in grouped(work.tasks)]
    assert groups == [
        ("F1", ["F1-spindle-5", "F1-place-in-the-cop"]), ("F2", ["F2-spindle-9"]),
        (WHOLE_MILL, ["shift-2026-03-24-2200"]), (IF_TIME, ["F2-spindle-7"]),
    ]  # fmt: skip


def test_the_frame_with_the_worst_effect_is_walked_first():
    work = listed(found("spindle", "F1", (5,), 3.0), found("spindle", "F2", (9,), 2.0), found("spindle", "F2", (3,), 9))
    assert [one.key for one in work.tasks] == ["F2-spindle-3", "F2-spindle-9", "F1-spindle-5"]


def test_the_effect_is_the_breaks_of_a_shift_above_the_ordinary():
    # By hand: 30 per 1000 spindle-hours are 0.24 in a shift of 8 h; four times as many more are 0.96.
    (task,) = listed(found("spindle", "F1", (5,), 5.0)).tasks
    assert task.effect is not None
    assert task.effect.value == pytest.approx(0.96)
    assert task.effect.low == pytest.approx(0.72)  # 4 times: 3 x 0.24
    assert task.target == pytest.approx(0.2)


def test_a_passed_limit_stands_first_and_what_may_be_chance_last():
    rooms = {"F1-AV30K": ("F1", [room(-0.001), room(0.002)])}
    work = listed(found("spindle", "F1", (5,), word=Sureness.MAY_BE_CHANCE), found("traveller age", "F2", value=2.0),
                  rooms=rooms)  # fmt: skip
    assert [one.key for one in work.tasks] == ["F1-AV30K-tube", "F2-traveller-age", "F1-spindle-5"]


def test_what_is_too_early_gives_a_line_and_no_task():
    work = make_list(
        [answer("spindles", "F1", found("spindle", "F1", (5,), word=Sureness.TOO_EARLY), word=Sureness.TOO_EARLY)],
        {"F1-AV30K": ("F1", [room(0.001, -0.001, 0.002)])}, FRAMES, 8.0,
    )  # fmt: skip
    assert work.tasks == ()
    assert work.missing[0] == "F1: spindles."
    assert "measure it" in work.missing[1]


def test_every_task_that_reaches_past_the_guards_has_its_caution():
    for kind, wording in WORDING.items():
        got = cautions_for(wording.works, KNOWN)
        reaches = kind not in {"shift", "change"}
        assert (any(one.work == REACH for one in got)) == reaches, kind
    assert {one.work for one in listed().always} == set(ALWAYS)


@pytest.mark.parametrize("name", sorted(MILL.frames))
def test_every_drive_has_a_caution_for_work_on_it(name):
    known = cautions(MILL.frames[name], next(iter(MILL.yarns.values())))
    assert len(cautions_for(WORDING["drive group"].works, known)) == 2


def test_work_without_a_known_caution_is_never_listed():
    with pytest.raises(LookupError, match="no caution is known"):
        cautions_for((REACH,), ())


def test_keys_name_kind_and_place_for_good():
    assert task_key("separator", "F2", (215, 216)) == "F2-separator-215-216"
    assert task_key("shift", "", (), "2026-03-24 22:00") == "shift-2026-03-24-2200"


def seen(before, after, shifts=30.0, expected=(30.0, 10.0)):
    return BeforeAfter(counts=(before, after), expected=expected, shifts_after=shifts)


def test_a_mended_spindle_is_told_with_the_exact_interval():
    told = follow_up(seen(150, 10), 0.2)
    assert told.helped is True
    assert told.sureness is Sureness.SURE
    assert told.ratio is not None
    assert told.ratio.value == pytest.approx(0.2)  # (10 / 10) / (150 / 30)
    # Clopper and Pearson by the beta law: share of the later ones among 160, turned into odds and times 3.
    low, high = stats.beta.ppf(0.025, 10, 151), stats.beta.isf(0.025, 11, 150)
    assert (told.ratio.low, told.ratio.high) == pytest.approx((3 * low / (1 - low), 3 * high / (1 - high)))


def test_a_spindle_as_bad_as_before_is_not_praised():
    told = follow_up(seen(150, 50), 0.2)
    assert told.helped is False
    assert told.sureness is Sureness.MAY_BE_CHANCE


def test_it_is_told_when_a_place_breaks_more_since():
    assert follow_up(seen(150, 90), 0.2).helped is False
    assert "breaks more since" in follow_up(seen(150, 90), 0.2).sentence


@pytest.mark.parametrize(
    "few",
    [
        seen(150, 0, shifts=2.0, expected=(30.0, 0.6)),
        seen(150, 0, shifts=0.0, expected=(30.0, 0.0)),
        seen(1, 0),
        seen(0, 0),
    ],
)
def test_too_early_is_said_with_what_is_missing(few):
    told = follow_up(few, 0.2)
    assert told.sureness is Sureness.TOO_EARLY
    assert told.helped is None
    assert "more shifts are needed" in told.sentence or "too few before" in told.sentence


def test_an_idle_tick_is_seldom_praised():
    # A place that stays as it was is called better in at most 2.5 % of all cases: the lower half of the level.
    rng, many = np.random.default_rng(6), 300
    draws = zip(rng.poisson(150, many).tolist(), rng.poisson(50, many).tolist(), strict=True)
    praised = sum(follow_up(seen(before, after), 0.2).helped is True for before, after in draws)
    assert praised <= stats.binom.ppf(0.999, many, 0.025)


@pytest.mark.parametrize(
    ("word", "value", "low", "helped"),
    [(Sureness.SURE, 0.7, 0.6, True), (Sureness.LIKELY, 1.3, 1.1, False), (Sureness.MAY_BE_CHANCE, 1.0, 0.9, False),
     (Sureness.MAY_BE_CHANCE, 0.9, 0.6, None)],
)  # fmt: skip
def test_a_whole_frame_is_judged_as_a_trial(word, value, low, helped):
    number = Estimate(value=value, low=low, high=2.0, unit="times", meaning="")
    assert follow_up_of_trial(answer("trial", "", word=word, number=number)).helped is helped


TICK = Tick(mill="alder-vale", key="F1-spindle-5", kind="spindle", what="Look at F1", frame="F1", spindles="5",
            target=0.2, done_us=1, by="early", note="ring worn <b>")  # fmt: skip


def test_ticks_are_kept_in_a_ledger_of_an_older_version(tmp_path, monkeypatch):
    monkeypatch.setattr("ringwright.store.ledger.MIGRATIONS", MIGRATIONS[:1])
    open_ledger(tmp_path).close()
    monkeypatch.undo()
    ledger = open_ledger(tmp_path)
    with ledger.change():
        ledger.add_tick(TICK)
    with pytest.raises(sqlite3.Error), sqlite3.connect(tmp_path / LEDGER) as read:
        read.execute("INSERT INTO tick (mill) VALUES ('x')")  # a tick without its key is no tick
    read.close()
    ledger.close()
    again = open_ledger(tmp_path)
    assert again.ticks("alder-vale") == [TICK]
    assert again.ticks("another") == []
    again.close()


BACK = TakenBack(mill="alder-vale", key="F1-spindle-5", at_us=9, by="late", note="wrong spindle")


def test_a_tick_taken_back_stays_in_the_ledger_and_the_one_before_it_stands_again(tmp_path, monkeypatch):
    monkeypatch.setattr("ringwright.store.ledger.MIGRATIONS", MIGRATIONS[:2])
    open_ledger(tmp_path).close()
    with sqlite3.connect(tmp_path / LEDGER) as old:  # a tick of a ledger from before ticks could be taken back
        old.execute("INSERT INTO tick (mill, key, kind, what, frame, spindles, target, done_us, by, note) VALUES ("
                    "'alder-vale', 'F1-spindle-5', 'spindle', 'Look at F1', 'F1', '5', 0.2, 1, 'early', 'ring worn <b>'"
                    ")")
    old.close()
    monkeypatch.undo()
    ledger = open_ledger(tmp_path)
    with ledger.change():
        ledger.add_tick(replace(TICK, done_us=5))
        assert ledger.take_back_tick(BACK)
    back = replace(TICK, done_us=5, taken_back_us=9, taken_back_by="late", taken_back_note="wrong spindle")
    assert ledger.ticks("alder-vale") == [TICK, back]
    assert [one.stands for one in ledger.ticks("alder-vale")] == [True, False]
    with ledger.change():
        assert ledger.take_back_tick(BACK)
        assert not ledger.take_back_tick(BACK)  # none stands any more
        assert not ledger.take_back_tick(replace(BACK, mill="another"))
    ledger.close()


def test_a_ledger_that_cannot_be_written_says_so_of_ticks_as_of_takes(tmp_path):
    ledger = open_ledger(tmp_path)
    with sqlite3.connect(tmp_path / LEDGER) as other:
        other.execute("DROP TABLE tick")
    other.close()
    with pytest.raises(Refusal, match="Nothing of this was written; put it right and try again"), ledger.change():
        ledger.add_tick(TICK)
    ledger.close()


def shown(helped=None):
    since = FollowUp(sentence="Too early.", sureness=Sureness.TOO_EARLY, cannot_say="", helped=helped)
    done = DoneRow(key="F1-spindle-5", what="Look at F1", when="now", by="early", note="ring worn <b>", since=since)
    work = listed(found("spindle", "F1", (5,)), found("spindle", "F1", (7,)))
    return ListToShow(mill="Alder Vale", origin="records", command="demo", work=work, done=(done,))


def test_a_ticked_task_is_off_the_list_until_it_is_seen_not_to_help():
    assert "1. [ ] Look at F1, side 1, spindle 7" in list_text(shown())
    assert "still open" not in list_text(shown(helped=True))
    assert "1. [ ] Look at F1, side 1, spindle 5" in list_text(shown(helped=False))


def test_where_nothing_can_be_compared_no_word_of_sureness_is_given():
    nothing = FollowUp(sentence="Nothing to compare.", sureness=None, cannot_say="")
    told = replace(shown(), done=(replace(shown().done[0], since=nothing),))
    assert list_text(told).endswith("Nothing to compare.")
    assert "Nothing to compare." in list_html(told)
    text = "".join(one.extract_text() for one in PdfReader(BytesIO(list_pdf(told))).pages)
    assert "[" not in text.partition("Nothing to compare.")[2]


def test_the_printed_list_has_boxes_cautions_and_links_and_lets_no_note_be_markup():
    page = list_html(shown(), made_at=MADE_AT)
    assert page.count('class="box"') == 1
    assert 'href="#finding-F1-spindle-7"' in page
    assert 'id="finding-F1-spindle-7"' in page
    assert "Stop and lock out before reaching past the guards" in page
    assert "&lt;b&gt;" in page
    text = "".join(one.extract_text() for one in PdfReader(BytesIO(list_pdf(shown(), made_at=MADE_AT))).pages)
    assert "spindle 7" in text
    assert "Stop and lock out" in text
    assert "ring worn <b>" in text
    assert list_pdf(shown(), made_at=MADE_AT) == list_pdf(shown(), made_at=MADE_AT)


def run(*words):
    return CliRunner().invoke(ringwright, list(words))


def test_the_demo_has_a_task_for_each_planted_fault():
    told = json.loads(run("worklist", "demo", "--json").output)
    keys = [one["key"] for one in told["tasks"]]
    assert {"F1-spindle-137", "F2-spindle-388", "F2-separator-215-216", "F3-traveller-age"} <= set(keys)
    assert keys.index("F1-spindle-137") + 1 == keys.index("F1-spindle-702")
    broken = [one for one in told["tasks"] if one["spindles"] and not one["kind"].startswith(("slow", "centring"))]
    assert all(math.isfinite(one["effect_breaks_a_shift"]["value"]) for one in broken)
    assert {"F4-slow-group-121-626", "F4-slow-spindle-700"} <= set(keys)
    stops = ["F3-centring-2026-03-09-stop-1", "F3-centring-2026-03-09-stop-2"]
    assert "F3-centring-rail-ring-side-2" in keys
    assert [key for key in keys if "F3-centring" in key and "stop" in key] == stops
    assert 951 in next(one for one in told["tasks"] if one["key"] == stops[0])["spindles"]
    assert all(one["cautions"] for one in told["tasks"] if one["kind"].startswith("centring"))


def test_a_tick_is_kept_and_judged_by_the_records_since(tmp_path):
    demo, store = str(tmp_path / "demo"), str(tmp_path / "store")
    run("study", "demo", "--write", demo)
    for name in ("breaks", "running"):
        run("take", f"{demo}/{name}.parquet", "--source", f"{demo}/{name}.source.toml", "--mill", "demo", "--store",
            store)  # fmt: skip
    for key, when in (("F1-spindle-137", "2026-04-12 06:40Z"), ("F1-spindle-702", "2026-03-20 06:40Z")):
        done = run("worklist", store, "--frame", "F1", "--tick", key, "--note", "Looked", "--by", "early", "--when",
                   when)  # fmt: skip
        assert done.exit_code == 0, done.output
    told = json.loads(run("worklist", store, "--frame", "F1", "--json").output)
    since = {one["key"]: one["since"] for one in told["done"]}
    # The demo's spindles stay as bad as they are, whatever is ticked; two days tell nothing, three weeks do.
    assert since["F1-spindle-137"]["sureness"] == "too early to tell"
    assert since["F1-spindle-702"]["helped"] is False
    still = {one["key"]: one["open"] for one in told["tasks"]}
    assert still["F1-spindle-137"] is False
    assert still["F1-spindle-702"] is True

    refused = run("worklist", store, "--untick", "F1-spindle-73", "--by", "late")
    assert isinstance(refused.exception, Refusal)
    assert "--note is empty" in str(refused.exception)
    assert "Known: F1-spindle-137" in str(refused.exception)
    back = run("worklist", store, "--untick", "F1-spindle-137", "--note", "it was another", "--by", "late")
    assert back.exit_code == 0, back.output
    told = json.loads(run("worklist", store, "--frame", "F1", "--json").output)
    assert [one["key"] for one in told["done"]] == ["F1-spindle-702"]
    assert {one["key"]: one["open"] for one in told["tasks"]}["F1-spindle-137"] is True
    history = run("worklist", store, "--history").output
    assert "[-] Look at F1, side 1, spindle 137" in history
    assert "by late: it was another" in history
    assert "[x] Look at F1, side 2, spindle 702" in history


def test_a_tick_that_cannot_be_kept_is_refused_with_every_fault():
    refused = run("worklist", "demo", "--tick", "F1-spindle-137", "--note", "x", "--by", "y")
    assert isinstance(refused.exception, Refusal)
    assert "ringwright study demo --write" in str(refused.exception)
    assert run("worklist", "demo", "--note", "x").exit_code == 2
    assert run("worklist", "demo", "--tick", "a", "--untick", "b").exit_code == 2
    assert run("worklist", "demo", "--untick", "b", "--when", "2026-03-20 06:40Z").exit_code == 2
