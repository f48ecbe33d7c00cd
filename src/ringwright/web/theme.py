"""Figures made for paper, put into the page's own colours, so that they follow light and dark."""

from __future__ import annotations

import re

from markupsafe import Markup

from ringwright.report import svg

__all__ = ["themed"]

_TOKENS = {
    svg.PAPER: "paper", svg.WASH: "wash", svg.INK: "ink", svg.INK2: "ink2", svg.LINE: "line", svg.HAIR: "hair",
    svg.WOAD: "woad", svg.WOADWASH: "woadwash", svg.MADDER: "madder",
}  # fmt: skip
_COLOUR = re.compile("|".join(re.escape(colour) for colour in _TOKENS))


def themed(figure: str) -> Markup:
    """Replace the colours of a figure by the page's own names for them; its words were escaped where it was drawn."""
    return Markup(_COLOUR.sub(lambda found: f"var(--{_TOKENS[found[0]]})", figure))  # noqa: S704
