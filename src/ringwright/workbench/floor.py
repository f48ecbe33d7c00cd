"""The floor's pages: the work list and the studies of break records, made outside the server's own process.

All answers are plain values, so that the server need not load the libraries of statistics.
"""

from __future__ import annotations

import pickle
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

from ringwright.report.sheets.sheet import Sheet
from ringwright.verbs.asked import DEMO, Asked

# Each answer imports what it needs as it is called: the statistics take seconds to load, and only where they are asked.
# ruff: noqa: PLC0415

__all__ = ["DEMO", "Asked", "history_of", "list_of", "questions_of", "study_of", "tick_of", "untick_of"]

Say = Callable[[str], None]
Stopped = Callable[[], bool]


def list_of(asked: Asked, say: Say, _: Stopped) -> dict[str, Any]:
    """Make the work list; its tasks and ticks in words, the list as PDF, and the list itself for a tick."""
    from ringwright.report.worklist_sheet import list_pdf
    from ringwright.verbs.tasking import to_show, work_list

    say("Counting the records, asking them every question, and judging each setting.")
    found = work_list(asked)
    say("Writing the list.")
    shown = to_show(found, asked)
    return {"view": _view(shown), "pdf": list_pdf(shown), "list": pickle.dumps(found)}


def _view(shown: Any) -> dict[str, Any]:  # noqa: ANN401 - its type would load the statistics
    from ringwright.report.worklist_view import caution_words, cautions_in_full, group_rows, sureness_words

    done = [
        {
            "key": one.key, "what": one.what, "when": one.when, "by": one.by, "note": one.note,
            "since": one.since.sentence, "cannot_say": one.since.cannot_say,
            "sure": "" if one.since.sureness is None else sureness_words(one.since.sureness),
        }
        for one in shown.done
    ]  # fmt: skip
    return {
        "mill": shown.mill, "origin": shown.origin, "groups": group_rows(shown), "done": done,
        "missing": list(shown.work.missing), "made": f"{datetime.now(tz=UTC):%Y-%m-%d %H:%M} UTC",
        "cautions": cautions_in_full(shown, every=True),
        "always": [caution_words(one) for one in shown.work.always],
    }  # fmt: skip


def tick_of(asked: Asked, held: bytes, given: dict[str, str]) -> str:
    """Tick a task of the list that the person looked at; gives its words. Refusal with every fault of what was given.

    ``held`` is the list as ``list_of`` gave it, from this very server.
    """
    from ringwright.verbs.tasking import Ticking, tick

    known = pickle.loads(held)  # noqa: S301 - made by this server's own worker, never by a browser
    return tick(asked, Ticking(**given), known).what


def untick_of(asked: Asked, given: dict[str, str]) -> str:
    """Take the last tick of a task back; gives its words. Refusal with every fault of what was given."""
    from ringwright.verbs.tasking import Unticking, untick

    return untick(asked, Unticking(**given)).what


def history_of(asked: Asked) -> list[dict[str, str]]:
    """List every tick, first to last, those taken back too; none for the demo's records, which have no store."""
    from ringwright.verbs.tasking import history

    if asked.records == DEMO:
        return []
    return [
        {"key": one.key, "what": one.what, "when": one.when, "by": one.by, "note": one.note, "back": one.taken_back}
        for one in history(asked)
    ]


def questions_of() -> dict[str, str]:
    """Give the questions that the records can be asked, by the word for each."""
    from ringwright.verbs.studying import questions

    return dict(questions())


def study_of(asked: Asked, say: Say, _: Stopped) -> Sheet:
    """Ask the records and put the answers on a sheet, the same document as the command line's."""
    from ringwright.report.sheets.study import study_sheet
    from ringwright.verbs.studying import questions, study

    def told(done: int, steps: int, words: str) -> None:
        if words:
            say(f"Step {min(done + 1, steps)} of {steps}: {words}{'' if words.endswith('?') else '.'}")

    return study_sheet(study(asked, told), questions())
