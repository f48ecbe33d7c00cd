"""The form of the centring page as it comes back from the browser, with the file that may come along."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request

from ringwright.refusal import Fault, Refusal
from ringwright.web.upload import FILE_MOST, file_in, plain_name, text_in

__all__ = ["FILE_MOST", "CentringForm", "read_centring_form"]

_MOST_FIELDS = 24
_SHORT = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class CentringForm:
    """What was sent: the act asked for, the readings so far with their file's name, and the other fields by key."""

    act: str
    text: str
    name: str
    fields: dict[str, str]
    faults: tuple[str, ...] = ()


async def read_centring_form(request: Request) -> CentringForm:
    """Read the form; Refusal if it is none of this page. A file that cannot be taken is told in ``faults``."""
    try:
        async with request.form(max_files=1, max_fields=_MOST_FIELDS) as form:
            return await _read(form)
    except (HTTPException, ClientDisconnect, ValueError):
        wants = f"a form of at most {_MOST_FIELDS} fields and one file, of this page"
        raise Refusal(Fault(where="what was sent", got="not readable", wants=wants)) from None


async def _read(form: FormData) -> CentringForm:
    given = {key: value for key, value in form.items() if isinstance(value, str)}
    text, name = given.pop("readings", "").replace("\r\n", "\n"), given.pop("name", "")[:_SHORT]
    fields = {key: value.strip()[:_SHORT] for key, value in given.items()}
    act = fields.pop("act", "judge")
    file = file_in(form)
    if file is None:
        return CentringForm(act=act, text=text, name=name, fields=fields)
    faults: list[Fault] = []
    sent = await text_in(file, faults)
    if text.strip() and not faults:
        mend = "Empty the field first, or judge what stands there."
        faults.append(Fault(where="the file", got="sent beside readings that stand in the field",
                            wants="sent alone, so that neither is lost", mend=mend))  # fmt: skip
    if faults:
        return CentringForm(act="look", text=text, name=name, fields=fields, faults=tuple(str(one) for one in faults))
    return CentringForm(act=act, text=sent, name=plain_name(file), fields=fields)
