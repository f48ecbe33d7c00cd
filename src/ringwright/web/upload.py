"""A file that came with a form: read as text only where its name, size and content are those of a CSV file."""

from __future__ import annotations

from starlette.datastructures import FormData, UploadFile

from ringwright.refusal import Fault

__all__ = ["FILE_MOST", "file_in", "plain_name", "text_in"]

FILE_MOST = 512 * 1024
"""Bytes of a file that are taken; 3 000 readings take some 80 kB."""
_ENDINGS = (".csv", ".txt")
_NAME_MOST = 200


def file_in(form: FormData) -> UploadFile | None:
    """Give the file that was chosen; None where the field was left empty."""
    found = form.get("file")
    return found if isinstance(found, UploadFile) and found.filename else None


def plain_name(file: UploadFile) -> str:
    """Give the name of a file without the folders that a browser may send with it."""
    return (file.filename or "").replace("\\", "/").rpartition("/")[2][:_NAME_MOST]


async def text_in(file: UploadFile, faults: list[Fault]) -> str:
    """Read a file as text; a fault is added if its name, size or content is not that of a CSV file."""
    where = f'the file "{plain_name(file)}"'
    if not plain_name(file).lower().endswith(_ENDINGS):
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
