"""The password that an address beyond this computer asks for: kept as its scrypt hash, guessed at slowly."""

from __future__ import annotations

import hashlib
import hmac
import secrets
import threading
import time
import unicodedata
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field

__all__ = ["LEAST", "MOST", "Lock"]

LEAST, MOST = 10, 200
"""Letters that a password must have at least, and may have at most."""
TRIES, WINDOW_S, SESSION_S = 5, 60.0, 12 * 3600.0
KNOWN_MOST = 256
"""Addresses of people who have come in that are remembered."""
_WORK = {"n": 1 << 14, "r": 8, "p": 1, "maxmem": 64 << 20}


@dataclass(slots=True)
class Lock:
    """Checks a password, counts wrong tries from each address and from all, and knows who has come in.

    An address from which someone has come in is held to its own tries only, so that guesses from elsewhere do not
    shut it out. Safe to ask from many threads.
    """

    password: str = field(repr=False)
    clock: Callable[[], float] = time.monotonic
    _salt: bytes = field(default_factory=lambda: secrets.token_bytes(16), repr=False)
    _hash: bytes = field(init=False, repr=False)
    _wrong: dict[str, list[float]] = field(default_factory=dict)
    _welcome: OrderedDict[str, None] = field(default_factory=OrderedDict)
    _inside: dict[str, float] = field(default_factory=dict, repr=False)
    _one_at_a_time: threading.Lock = field(default_factory=threading.Lock, repr=False)

    def __post_init__(self) -> None:
        self._hash = self._hashed(self.password)
        self.password = ""

    def _hashed(self, word: str) -> bytes:
        # One keyboard writes an accented letter as one sign, another as two.
        letters = unicodedata.normalize("NFKC", word).encode("utf-8", "surrogatepass")
        return hashlib.scrypt(
            letters, salt=self._salt, n=_WORK["n"], r=_WORK["r"], p=_WORK["p"], maxmem=_WORK["maxmem"]
        )

    def wait(self, who: str) -> float:
        """Give the seconds that this address must wait before its next try; 0 if it may try now."""
        with self._one_at_a_time:
            return self._wait(who)

    def _wait(self, who: str) -> float:
        now = self.clock()
        for key in list(self._wrong):
            self._wrong[key] = [at for at in self._wrong[key] if now - at < WINDOW_S]
            if not self._wrong[key]:
                del self._wrong[key]
        own = self._wrong.get(who, [])
        everyone = [] if who in self._welcome else sorted(at for tries in self._wrong.values() for at in tries)
        waits = [
            WINDOW_S - (now - tries[-most])
            for tries, most in ((own, TRIES), (everyone, 10 * TRIES))
            if len(tries) >= most
        ]
        return max(waits, default=0.0)

    def enter(self, who: str, word: str) -> str | None:
        """Give the token of a new session for the right password, None for a wrong one or one too soon; it takes long.

        A try counts before it is checked, so that many at once do not get past the count.
        """
        with self._one_at_a_time:
            if self._wait(who) > 0.0:
                return None
            at = self.clock()
            self._wrong.setdefault(who, []).append(at)
        if not hmac.compare_digest(self._hashed(word), self._hash):
            return None
        token = secrets.token_urlsafe(32)
        with self._one_at_a_time:
            if at in (tries := self._wrong.get(who, [])):
                tries.remove(at)
            now = self.clock()
            self._inside = {known: at for known, at in self._inside.items() if now - at < SESSION_S}
            self._inside[_mark(token)] = now
            self._welcome[who] = None
            self._welcome.move_to_end(who)
            while len(self._welcome) > KNOWN_MOST:
                self._welcome.popitem(last=False)
        return token

    def knows(self, token: str) -> bool:
        """Say whether a token belongs to a session that is still open."""
        at = self._inside.get(_mark(token))
        return at is not None and self.clock() - at < SESSION_S

    def leave(self, token: str) -> None:
        """Close a session."""
        self._inside.pop(_mark(token), None)


def _mark(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()
