"""A question of what pays as it stands in an address or comes with a form, and the links that hold it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from urllib.parse import quote, urlencode

from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request

from ringwright.refusal import Fault, Refusal
from ringwright.web.address import LONGEST, Address, read_units
from ringwright.web.parts_page import LONGEST_LINES, address_of
from ringwright.web.place_of_work import PlaceOfWork
from ringwright.web.upload import file_in, text_in
from ringwright.workbench.better.blanks import FIT
from ringwright.workbench.better.catalogue import question_at
from ringwright.workbench.better.question import Asked, Blank, Ground, Question

__all__ = ["ASKED", "Standing", "link_of", "standing_of", "with_form"]

ASKED = "ask"
"""The key in the address that says that a question was asked, not only opened."""
_TRIED = ("traveller", "speed", "friction", "guide", "control_ring")
_MOST_FIELDS = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """Where a request stands: the server's things, the question, and what was asked.

    ``fresh`` says that nothing was typed here; a fit alone may come along from another question.
    """

    work: PlaceOfWork
    question: Question
    address: Address
    asked: Asked
    fresh: bool
    faults: tuple[Fault, ...] = ()

    @property
    def blanks(self) -> tuple[Blank, ...]:
        """The fields that stand on this page."""
        return self.question.offered(self.asked.ground)

    @property
    def moved(self) -> dict[str, str]:
        """What was typed, without what stands in a field of itself."""
        usual = {blank.key: (blank.choices_of(self.asked.ground) or ("",))[0] for blank in self.blanks}
        typed = self.asked.typed if not self.fresh else {FIT.key: self.asked[FIT.key]}
        return {key: text for key, text in typed.items() if text not in {"", usual.get(key)}}


def standing_of(request: Request) -> Standing:
    """Read a request; Refusal for an unknown question, frame or yarn."""
    work, address = address_of(request)
    question = question_at(request.path_params["question"])
    ground = Ground(
        mill=work.shelf.mill(), where=work.shelf.where, names=(address.frame, address.yarn), records=work.records,
        others=work.others,
    )  # fmt: skip
    blanks = question.offered(ground)
    given = request.query_params
    fresh = not any(blank.key in given for blank in blanks if blank.key != FIT.key)
    typed = {blank.key: _typed(blank, ground, given.get(blank.key), fresh=fresh) for blank in blanks}
    tried = {key: given[key][:LONGEST] for key in _TRIED if given.get(key)}
    address = replace(address, units=read_units(given.get("u", "")), a=tried)
    return Standing(work=work, question=question, address=address, asked=Asked(ground=ground, typed=typed), fresh=fresh)


def _typed(blank: Blank, ground: Ground, sent: str | None, *, fresh: bool) -> str:
    if sent is None and fresh and blank.start is not None:
        return blank.start(ground)
    first = (blank.choices_of(ground) or ("",))[0]
    text = (first if sent is None else sent).replace("\r\n", "\n").strip()
    return text[: LONGEST_LINES if blank.long else LONGEST]


async def with_form(request: Request, at: Standing) -> Standing:
    """Take the fields of a form in place of the address's, and the file that came with it; ``faults`` of the file."""
    try:
        async with request.form(max_files=1, max_fields=_MOST_FIELDS) as form:
            return await _with_fields(form, at)
    except (HTTPException, ClientDisconnect, ValueError):
        wants = f"a form of at most {_MOST_FIELDS} fields and one file, of this page"
        raise Refusal(Fault(where="what was sent", got="not readable", wants=wants)) from None


async def _with_fields(form: FormData, at: Standing) -> Standing:
    typed = dict(at.asked.typed)
    faults: list[Fault] = []
    for blank in at.blanks:
        sent = form.get(blank.key)
        if isinstance(sent, str):
            typed[blank.key] = sent.replace("\r\n", "\n").strip()
    long = next((blank for blank in at.blanks if blank.long), None)
    if long is not None and (file := file_in(form)) is not None:
        text = (await text_in(file, faults)).strip()
        typed[long.key] = text or typed[long.key]
    for blank in at.blanks:
        most = LONGEST_LINES if blank.long else LONGEST
        if len(typed[blank.key]) > most:
            wants = f"at most {most} letters long, as the address of the page holds them"
            mend = "Leave lines out, or give the file to the command line." if blank.long else ""
            faults.append(Fault(where=blank.label, got=f"{len(typed[blank.key])} letters long", wants=wants, mend=mend))
    return replace(at, asked=replace(at.asked, typed=typed), fresh=False, faults=tuple(faults))


def link_of(question: Question, address: Address, typed: Mapping[str, str], more: str = "") -> str:
    """Write the link to a question of a frame and yarn with what is typed, in the units chosen."""
    at = f"/better/{question.key}/{quote(address.frame, safe='')}/{quote(address.yarn, safe='')}{more}"
    pairs = {**typed, **({"u": ",".join(address.units)} if address.units else {})}
    return f"{at}?{urlencode(pairs, quote_via=quote)}" if pairs else at
