"""The questions that break records can be asked; apart, so that a page that lists them loads no statistics."""

from __future__ import annotations

from typing import Final

__all__ = ["QUESTIONS"]

QUESTIONS: Final = {
    "rates": "How many ends break per 1000 spindle-hours?",
    "spindles": "Which spindles stand out?",
    "separators": "Which separators leak?",
    "cop": "Where in the cop do ends break?",
    "doff": "Does the time since the doff matter?",
    "travellers": "Does the age of the travellers matter?",
    "shifts": "Which shift is at fault?",
    "changes": "Did the rate change at some time?",
    "drive": "Do the spindles of one tape or belt go together?",
}
"""The questions by the word that asks for each."""
