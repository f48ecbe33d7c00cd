"""The form of the centring page as it comes back from the browser, with the file that may come along."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.datastructures import FormData, UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request

from ringwright.refusal import Fault, Refusal

__all__ = ["FILE_MOST", "CentringForm", "read_centring_form"]

FILE_MOST = 512 * 1024
"""Bytes of a file that are taken; 3 000 readings take some 80 kB."""
_ENDINGS = (".csv", ".txt")
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
    file = _file(form)
    if file is None:
        return CentringForm(act=act, text=text, name=name, fields=fields)
    faults: list[Fault] = []
    sent = await _text_of(file, faults)
    if text.strip() and not faults:
        mend = "Empty the field first, or judge what stands there."
        faults.append(Fault(where="the file", got="sent beside readings that stand in the field",
                            wants="sent alone, so that neither is lost", mend=mend))  # fmt: skip
    if faults:
        return CentringForm(act="look", text=text, name=name, fields=fields, faults=tuple(str(one) for one in faults))
    return CentringForm(act=act, text=sent, name=_plain_name(file), fields=fields)


def _file(form: FormData) -> UploadFile | None:
    """Give the file that was chosen; None where the field was left empty."""
    found = form.get("file")
    return found if isinstance(found, UploadFile) and found.filename else None


def _plain_name(file: UploadFile) -> str:
    return (file.filename or "").replace("\\", "/").rpartition("/")[2][:_SHORT]


async def _text_of(file: UploadFile, faults: list[Fault]) -> str:
    """Read a file as text; a fault is added if its name, size or content is not that of a CSV file."""
    where = f'the file "{_plain_name(file)}"'
    if not _plain_name(file).lower().endswith(_ENDINGS):
        faults.append(Fault(where=where, got="of another kind", wants="a CSV file, its name ending with .csv or .txt"))
        return ""
    content = await file.read(FILE_MOST + 1)
    if len(content) > FILE_MOST:
        most = f"{FILE_MOST // 1024} kB"
        faults.append(Fault(where=where, got=f"larger than {most}", wants=f"at most {most}"))
        return ""
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = "\0"
    if "\0" in text:
        faults.append(Fault(where=where, got="not UTF-8 text", wants="CSV in UTF-8", mend="Save it as CSV, UTF-8."))
        return ""
    return text.replace("\r\n", "\n")
