"""The bibliography: what stands behind each key that a cited number names."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import Enum
from functools import cache
from importlib import resources
from types import MappingProxyType, ModuleType

from ringwright.sources.cited import Cited

__all__ = ["Grade", "Source", "bibliography", "cited_in", "sources_of"]


class Grade(Enum):
    """How good a source is as evidence; the value is the word a reader sees."""

    STANDARD = "standard"
    PEER_REVIEWED = "peer-reviewed"
    HANDBOOK = "handbook"
    TEACHING = "teaching material"
    TRADE_PAGE = "trade page"
    OUR_ESTIMATE = "our estimate"
    FROM_MEMORY = "from memory"
    COMMON_PRACTICE = "common practice"


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One entry of the bibliography; ``read`` is False where the text itself was not read."""

    key: str
    author: str
    title: str
    where: str
    grade: Grade
    year: int | None = None
    note: str = ""
    read: bool = True
    background: bool = False

    def __str__(self) -> str:
        """Print the source as one line of a list: author, year, title, place, grade, and whether it was read."""
        year = f" ({self.year})" if self.year else ""
        unread = "" if self.read or self.grade in _SAYS_SO_ITSELF else ", not read"
        place = "" if self.where == "-" else f"; {self.where}"
        return f"{self.author}{year}: {self.title}{place} [{self.grade.value}{unread}]"


_SAYS_SO_ITSELF = (Grade.FROM_MEMORY, Grade.COMMON_PRACTICE, Grade.OUR_ESTIMATE)


@cache
def bibliography() -> Mapping[str, Source]:
    """Read bibliography.toml, once; keys are those that cited numbers name."""
    text = resources.files("ringwright.sources").joinpath("bibliography.toml").read_text(encoding="utf-8")
    entries = tomllib.loads(text)
    return MappingProxyType(
        {key: Source(key=key, grade=Grade(entry.pop("grade")), **entry) for key, entry in entries.items()}
    )


def cited_in(module: ModuleType) -> dict[str, Cited]:
    """Collect the cited numbers of a module by name; those inside a mapping are named ``NAME[key]``."""
    found: dict[str, Cited] = {}
    for name, value in vars(module).items():
        if isinstance(value, Cited):
            found[name] = value
        elif isinstance(value, Mapping):
            found |= {f"{name}[{key}]": inner for key, inner in value.items() if isinstance(inner, Cited)}
    return found


def sources_of(numbers: Iterable[Cited]) -> tuple[Source, ...]:
    """List the sources of some cited numbers, each once, in the order first met; KeyError on an unknown key."""
    known = bibliography()
    return tuple(known[key] for key in dict.fromkeys(number.source for number in numbers))
