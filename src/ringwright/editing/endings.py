"""The bytes of a file around its text: byte order mark and line endings, given back as they were."""

from __future__ import annotations

from difflib import SequenceMatcher

__all__ = ["as_before", "plain_text"]

_MARK = b"\xef\xbb\xbf"


def plain_text(content: bytes) -> str:
    """Give the text of a file with line feeds alone; UnicodeDecodeError if it is not UTF-8."""
    return content.decode("utf-8-sig").replace("\r\n", "\n")


def as_before(content: bytes, before: str, after: str) -> bytes:
    """Give the bytes of the text ``after``, its unchanged lines ending as they do in ``content``."""
    mark = _MARK if content.startswith(_MARK) else b""
    raw = content.removeprefix(_MARK)
    if b"\r\n" not in raw:
        return mark + after.encode()
    old, new = before.split("\n"), after.split("\n")
    ends = [part.endswith(b"\r") for part in raw.split(b"\n")]
    usual = 2 * sum(ends) >= len(ends) - 1
    endings = [usual] * len(new)
    for tag, i1, i2, j1, j2 in SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
        if tag == "equal" or (tag == "replace" and i2 - i1 == j2 - j1):
            endings[j1:j2] = [end if i < len(old) - 1 else usual for i, end in enumerate(ends[i1:i2], start=i1)]
    endings[-1] = False
    return mark + b"\n".join(line.encode() + (b"\r" if end else b"") for line, end in zip(new, endings, strict=True))
