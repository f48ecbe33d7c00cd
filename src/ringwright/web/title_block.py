"""The head of every page, as the title block of a drawing sheet: mill, frame and yarn, setting A, setting B."""

from __future__ import annotations

from typing import Any

from ringwright.web.address import Address
from ringwright.web.bench_view import setting_words
from ringwright.workbench.tried import Tried

__all__ = ["title_block"]


def title_block(mill: Any, address: Address, a: Tried, b: Tried | None) -> dict[str, Any]:  # noqa: ANN401 - the mill
    """Give the words of the head, and the pairs of frame and yarn that may be chosen."""
    pairs = list(mill.settings.values())
    return {
        "mill": mill.name,
        "pairs": [(one.name, f"{one.frame} with {one.yarn}") for one in pairs],
        "pair": next((one.name for one in pairs if (one.frame, one.yarn) == (address.frame, address.yarn)), ""),
        "a": setting_words(a),
        "b": setting_words(b) if b else "",
    }
