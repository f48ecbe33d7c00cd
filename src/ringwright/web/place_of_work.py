"""What every page works with: the mill on its shelf, the solver, the slower worker, and the templates."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from importlib.resources import files
from typing import Any, TypeVar, cast

from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from starlette.requests import Request
from starlette.responses import HTMLResponse

from ringwright import __version__
from ringwright.web.background import Background, Lane
from ringwright.web.jobs import Jobs
from ringwright.workbench.ahead import Ahead
from ringwright.workbench.shelf import MillShelf
from ringwright.workbench.tried import Tried

__all__ = ["PlaceOfWork"]

Answer = TypeVar("Answer")


@lru_cache(maxsize=32)
def asset(name: str) -> str:
    """Give the address of a file of the package, with a mark that changes when the file does."""
    content = files("ringwright.web").joinpath("static", name).read_bytes()
    return f"/static/{name}?v={hashlib.sha256(content).hexdigest()[:10]}"


def _templates() -> Environment:
    made = Environment(
        loader=PackageLoader("ringwright.web", "templates"),
        autoescape=select_autoescape(default=True, default_for_string=True, enabled_extensions=("j2", "html")),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals |= {"asset": asset, "version": __version__}
    return made


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceOfWork:
    """One server's own things."""

    shelf: MillShelf
    ahead: Ahead = field(default_factory=Ahead)
    background: Background = field(default_factory=Background)
    jobs: Jobs = field(default_factory=Jobs)
    records: str = ""
    """The store of records, or the word demo; empty where none was given."""
    others: Mapping[str, str] = field(default_factory=dict)
    """Folders of other mills by name, to compare with; the pages open no other."""
    templates: Environment = field(default_factory=_templates)
    locked: bool = False

    @staticmethod
    def of(request: Request) -> PlaceOfWork:
        """Give what the server of this request works with."""
        return cast("PlaceOfWork", request.app.state.work)

    def page(self, _: Request, template: str, view: Mapping[str, Any], status: int = 200) -> HTMLResponse:
        """Fill a page."""
        usual = {"page": "", "locked": self.locked, "mill_state": self.shelf.mark}
        headers = {"cache-control": "no-store"}
        return HTMLResponse(self.piece(template, usual | dict(view)), status, headers)

    def piece(self, template: str, view: Mapping[str, Any]) -> str:
        """Fill a piece of a page."""
        return self.templates.get_template(template).render(view)

    async def whole(self, verb: Callable[..., Answer], tried: Tried, *, lane: Lane = "doff") -> Answer:
        """Ask one of the slower verbs about what is tried; the same question of the same mill is worked out once."""
        key = (verb.__name__, self.shelf.version_of(tried.as_read), tried.key)
        return await self.background.ask(key, verb, tried.mill, tried.frame, tried.yarn, tried.trial, lane=lane)
