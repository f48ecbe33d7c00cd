"""The password that an address beyond this computer asks for: kept as its scrypt hash, guessed at slowly."""

from __future__ import annotations

import hashlib
import hmac
import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass, field

__all__ = ["LEAST", "Lock"]

LEAST = 10
"""Letters that a password must have at least."""
TRIES, WINDOW_S, SESSION_S = 5, 60.0, 12 * 3600.0
_WORK = {"n": 1 << 14, "r": 8, "p": 1, "maxmem": 64 << 20}


@dataclass(slots=True)
class Lock:
    """Checks a password, counts wrong tries from each address and from all, and knows who has come in."""

    password: str = field(repr=False)
    clock: Callable[[], float] = time.monotonic
    _salt: bytes = field(default_factory=lambda: secrets.token_bytes(16), repr=False)
    _hash: bytes = field(init=False, repr=False)
    _wrong: dict[str, list[float]] = field(default_factory=dict)
    _inside: dict[str, float] = field(default_factory=dict, repr=False)

    def __post_init__(self) -> None:
        self._hash = self._hashed(self.password)
        self.password = ""

    def _hashed(self, word: str) -> bytes:
        return hashlib.scrypt(
            word.encode(), salt=self._salt, n=_WORK["n"], r=_WORK["r"], p=_WORK["p"], maxmem=_WORK["maxmem"]
        )

    def wait(self, who: str) -> float:
        """Give the seconds that this address must wait before its next try; 0 if it may try now."""
        now = self.clock()
        for key in list(self._wrong):
            self._wrong[key] = [at for at in self._wrong[key] if now - at < WINDOW_S]
            if not self._wrong[key]:
                del self._wrong[key]
        own, everyone = self._wrong.get(who, []), sorted(at for tries in self._wrong.values() for at in tries)
        waits = [
            WINDOW_S - (now - tries[-most])
            for tries, most in ((own, TRIES), (everyone, 10 * TRIES))
            if len(tries) >= most
        ]
        return max(waits, default=0.0)

    def enter(self, who: str, word: str) -> str | None:
        """Give the token of a new session for the right password, None for a wrong one; ask ``wait`` first."""
        if not hmac.compare_digest(self._hashed(word), self._hash):
            self._wrong.setdefault(who, []).append(self.clock())
            return None
        token = secrets.token_urlsafe(32)
        now = self.clock()
        self._inside = {known: at for known, at in self._inside.items() if now - at < SESSION_S}
        self._inside[hashlib.sha256(token.encode()).hexdigest()] = now
        return token

    def knows(self, token: str) -> bool:
        """Say whether a token belongs to a session that is still open."""
        at = self._inside.get(hashlib.sha256(token.encode()).hexdigest())
        return at is not None and self.clock() - at < SESSION_S

    def leave(self, token: str) -> None:
        """Close a session."""
        self._inside.pop(hashlib.sha256(token.encode()).hexdigest(), None)
