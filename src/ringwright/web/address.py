"""The address of a page: everything chosen stands in it, so that it can be sent to a colleague."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import wraps
from urllib.parse import parse_qsl, quote, urlencode

from starlette.requests import Request
from starlette.responses import Response

from ringwright.units import written_in

__all__ = ["MOMENT", "UNITS", "Address", "echo", "in_chosen_units", "read_address", "read_units"]

MOMENT = ("doff", "chase")
UNITS = ("Ne", "tpi", "in")
"""What the switch offers in place of tex, t/m and mm."""
_TRIED = (
    "traveller", "speed", "friction", "control_diameter", "control_height", "guide_height", "guide_lift", "guide",
    "control_ring",
)  # fmt: skip
LONGEST = 80
"""Letters of one value that are read; nobody writes a longer quantity."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Address:
    """Frame and yarn, what is tried in setting A and in B (None without one), the moment, the part and the units."""

    frame: str
    yarn: str
    a: Mapping[str, str] = field(default_factory=dict)
    b: Mapping[str, str] | None = None
    moment: Mapping[str, str] = field(default_factory=dict)
    part: str = "ring"
    units: tuple[str, ...] = ()
    extra: Mapping[str, str] = field(default_factory=dict)
    """What only one kind of page knows."""

    def query(self, **changes: object) -> str:
        """Write the query, with some of the fields changed."""
        one = replace(self, **changes)  # type: ignore[arg-type]
        pairs = [(key, one.a[key]) for key in _TRIED if key in one.a]
        pairs += [(key, one.moment[key]) for key in MOMENT if key in one.moment]
        if one.b is not None:
            pairs += [("b", "1"), *((f"b_{key}", one.b[key]) for key in _TRIED if key in one.b)]
        pairs.append(("part", one.part))
        if one.units:
            pairs.append(("u", ",".join(one.units)))
        return urlencode([*pairs, *one.extra.items()], quote_via=quote)

    def link(self, page: str, **changes: object) -> str:
        """Write the link to a page of this frame and yarn."""
        one = replace(self, **changes)  # type: ignore[arg-type]
        return f"/{page}/{quote(one.frame, safe='')}/{quote(one.yarn, safe='')}?{one.query()}"

    def unit_links(self, page: str) -> dict[str, str]:
        """Write, for each unit of the switch, the link that takes it on or leaves it."""
        return {unit: self.link(page, units=self.with_unit(unit)) for unit in UNITS}

    def with_unit(self, unit: str) -> tuple[str, ...]:
        """Give the units with one taken on, or left where it was chosen."""
        return tuple(one for one in self.units if one != unit) if unit in self.units else (*self.units, unit)


def read_units(given: str) -> tuple[str, ...]:
    """Read the units chosen in place of the usual ones ("Ne,in"); what is no unit of the switch is left out."""
    return tuple(dict.fromkeys(unit for unit in given.split(",") if unit in UNITS))


def in_chosen_units(page: Callable[[Request], Awaitable[Response]]) -> Callable[[Request], Awaitable[Response]]:
    """Make a page write all its figures, words and axes in the units that its address asks for."""

    @wraps(page)
    async def answered(request: Request) -> Response:
        with written_in(read_units(request.query_params.get("u", ""))):
            return await page(request)

    return answered


def read_address(frame: str, yarn: str, query: str, *, extra: tuple[str, ...] = ()) -> Address:
    """Read a query; keys that mean nothing are left out, values are cut at 80 letters."""
    given = {key: value.strip()[:LONGEST] for key, value in parse_qsl(query) if value.strip()}
    b = {key.removeprefix("b_"): word for key, word in given.items() if key.startswith("b_")}
    return Address(
        frame=frame,
        yarn=yarn,
        a={key: given[key] for key in _TRIED if key in given},
        b={key: b[key] for key in _TRIED if key in b} if "b" in given or b else None,
        moment={key: given[key] for key in MOMENT if key in given},
        part=given.get("part", "ring"),
        units=read_units(given.get("u", "")),
        extra={key: given[key] for key in extra if key in given},
    )


def echo(query: bytes) -> str:
    """Give the mark of a query that its answer carries back (FNV-1a, 32 bits): the page knows what it belongs to."""
    mark = 0x811C9DC5
    for byte in query:
        mark = ((mark ^ byte) * 0x01000193) & 0xFFFFFFFF
    return f"{mark:08x}"
