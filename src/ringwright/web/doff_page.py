"""The doff player: the whole doff, played."""

from __future__ import annotations

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

__all__ = ["answer_player", "doff"]


async def doff(request: Request) -> Response:
    """Show the player."""
    raise HTTPException(404)


async def answer_player(request: Request) -> Response:
    """Give what is played."""
    raise HTTPException(404)
