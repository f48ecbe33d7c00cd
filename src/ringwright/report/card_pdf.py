"""The card as a tagged PDF on one sheet of A4, set by typst with the fonts that the package carries."""

from __future__ import annotations

import json
from datetime import UTC, datetime

from ringwright.report.card import Card
from ringwright.report.card_view import card_view
from ringwright.report.typesetting import TEMPLATES, pdf

__all__ = ["card_pdf"]


def card_pdf(card: Card, *, made_at: datetime | None = None) -> bytes:
    """Set the card as PDF/UA-1; with ``made_at`` given (it needs a time zone) the same card is always the same bytes.

    The card's words reach the template as data, never as markup, so nothing typed in a mill file is carried out.
    """
    inputs = {"card": json.dumps(card_view(card), ensure_ascii=False, sort_keys=True)}
    return pdf(
        TEMPLATES.joinpath("card.typ").read_bytes(), inputs, (made_at or datetime.now(tz=UTC)).replace(microsecond=0)
    )
