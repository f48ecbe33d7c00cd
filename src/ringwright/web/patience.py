"""How long a connection may take to ask, and how many one computer may hold open, so that none shuts out the others."""

from __future__ import annotations

import asyncio
from typing import Any

from uvicorn.protocols.http.h11_impl import H11Protocol

__all__ = ["PEER_MOST", "Patient"]

HEAD_WAIT_S = 20.0
"""Seconds in which a question must have come up to its body; uvicorn itself waits without end."""
PEER_MOST = 200
"""Connections that one address may hold open; a browser opens six, and twenty people may share an address."""


class Patient(H11Protocol):
    """One connection, closed where it is too slow to ask or one too many of its address."""

    def __init__(self, *given: Any, **named: Any) -> None:  # noqa: ANN401 - whatever the server gives
        super().__init__(*given, **named)
        self._too_late: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Begin to wait for the first question."""
        super().connection_made(transport)
        own = self.client[0] if self.client else ""
        same = sum(
            isinstance(one, Patient) and one.client is not None and one.client[0] == own for one in self.connections
        )
        if own and same > PEER_MOST:
            transport.abort()
            return
        self._watch()

    def data_received(self, data: bytes) -> None:
        """Take what came; wait on while it is not yet a question."""
        super().data_received(data)
        self._watch()

    def connection_lost(self, exc: Exception | None) -> None:
        """Wait no longer."""
        self._rest()
        super().connection_lost(exc)

    def _watch(self) -> None:
        if not self._idle():
            self._rest()
        elif self._too_late is None and not self.transport.is_closing():
            self._too_late = self.loop.call_later(HEAD_WAIT_S, self._close)

    def _idle(self) -> bool:
        return self.cycle is None or self.cycle.response_complete

    def _rest(self) -> None:
        if self._too_late is not None:
            self._too_late.cancel()
            self._too_late = None

    def _close(self) -> None:
        self._too_late = None
        if self._idle() and not self.transport.is_closing():
            self.transport.close()
