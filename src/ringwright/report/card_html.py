"""The card as one HTML file that needs nothing beside it: style, figures and fonts are inside."""

from __future__ import annotations

from base64 import b64encode

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

from ringwright.report.card import Card
from ringwright.report.card_view import card_view
from ringwright.report.typesetting import FONTS, TEMPLATES

__all__ = ["card_html"]

_FACES = (
    ("Sofia Sans", "card-plain.woff2"),
    ("Sofia Slim", "card-narrow.woff2"),
)


def card_html(card: Card) -> str:
    """Write the card as one page of HTML that prints on one sheet of A4; every word of the card is escaped."""
    view = card_view(card)
    # Only the drawings are passed as markup: they are our own, and their words are escaped where they are drawn.
    view["figures"] = {name: Markup(drawing) for name, drawing in view["figures"].items()}  # noqa: S704
    view["marks"] = {name: Markup(drawing) for name, drawing in view["marks"].items()}  # noqa: S704
    view["faces"] = [(family, _data(file)) for family, file in _FACES]
    page = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    return page.from_string(TEMPLATES.joinpath("card.html.j2").read_text(encoding="utf-8")).render(view)


def _data(file: str) -> str:
    return b64encode(FONTS.joinpath(file).read_bytes()).decode("ascii")
