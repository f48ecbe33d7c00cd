"""The desk behind the doors: messages that arrive together are checked and committed together."""

from __future__ import annotations

import queue
import threading
from concurrent.futures import Future
from typing import Final

from ringwright.live.intake import Answer, Intake
from ringwright.refusal import Refusal

__all__ = ["Desk"]

MESSAGES: Final = 5000
BYTES: Final = 4 << 20
WAITING: Final = 50_000
"""So many messages may wait; a door that brings more is held up, and so are its senders."""

_Waiting = tuple[str, bytes, "Future[Answer]"]


class Desk:
    """One thread that serves all doors; a message's future has its answer only after the commit."""

    def __init__(self, intake: Intake) -> None:
        self.intake = intake
        self._waiting: queue.Queue[_Waiting | None] = queue.Queue(WAITING)
        self._thread = threading.Thread(target=self._serve, name="desk", daemon=True)
        self._thread.start()

    def bring(self, door: str, message: bytes) -> Future[Answer]:
        """Bring a message of NDJSON; the future gives its answer, or raises Refusal if it could not be committed."""
        answer: Future[Answer] = Future()
        self._waiting.put((door, message, answer))
        return answer

    def close(self) -> None:
        """Serve what waits, then stop."""
        self._waiting.put(None)
        self._thread.join()

    def _serve(self) -> None:
        while (first := self._waiting.get()) is not None:
            group, last = self._gathered(first)
            try:
                answers = self.intake.take([(door, message) for door, message, _ in group])
            except Exception as error:  # noqa: BLE001 - whoever waits for an answer must hear of it
                for _, _, future in group:
                    future.set_exception(error)
            else:
                for (_, _, future), answer in zip(group, answers, strict=True):
                    future.set_result(answer)
            if last:
                return

    def _gathered(self, first: _Waiting) -> tuple[list[_Waiting], bool]:
        """Take what waits along with a first message; tells whether the desk was closed behind it."""
        group, size = [first], len(first[1])
        while len(group) < MESSAGES and size < BYTES:
            try:
                one = self._waiting.get_nowait()
            except queue.Empty:
                break
            if one is None:
                return group, True
            group.append(one)
            size += len(one[1])
        return group, False


def reason_of(error: BaseException) -> str:
    """Tell why a message could not be committed."""
    return str(error) if isinstance(error, Refusal) else f"an error of the program: {type(error).__name__}"
