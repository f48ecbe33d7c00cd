"""``ringwright position``: one spinning position from a file, or a stream of them."""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, BinaryIO

import click
import orjson

from ringwright.refusal import Fault, Refusal
from ringwright.report.position_text import position_text
from ringwright.verbs import app

__all__ = ["position"]

BLOCK = 1 << 22
LINES = 16384
_BYTE_ORDER_MARK = b"\xef\xbb\xbf"


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the results as one JSON object.")
@click.option("--limits", is_flag=True, help="Add the traveller masses of each limit: fold, neck, lift-off, touch.")
def position(file: str, as_json: bool, limits: bool) -> None:
    """Solve one spinning position from FILE (TOML or JSON).

    With - as FILE, read one JSON object a line from standard input and print one a line, in order.
    """
    if file == "-":
        sys.exit(_stream(sys.stdin.buffer, sys.stdout.buffer, limits=limits))
    keys = _read(file)
    (result,) = app.solve_positions([(file, keys)], with_limits=limits)
    if isinstance(result, Refusal):
        raise result
    if as_json:
        click.echo(orjson.dumps(result, option=orjson.OPT_INDENT_2))
    else:
        click.echo(position_text(keys, result))


def _read(file: str) -> dict[str, Any]:
    """Read a position's keys from a TOML or JSON file."""
    path = Path(file)
    try:
        text = path.read_bytes()
    except OSError as error:
        missing = isinstance(error, FileNotFoundError)
        got = "not there (no such file)" if missing else "a directory" if path.is_dir() else "not readable"
        wants = "a TOML or JSON file that can be read"
        raise Refusal(Fault(where=f'the file "{file}"', got=got, wants=wants, mend="Check the path.")) from None
    wants = "TOML, as yarn_tex = 20, or JSON"
    text = text.removeprefix(_BYTE_ORDER_MARK)
    try:
        if path.suffix.lower() == ".json" or text.lstrip().startswith(b"{"):
            return orjson.loads(text)  # type: ignore[no-any-return]  # app checks what it is
        return tomllib.loads(text.decode("utf-8"))
    except orjson.JSONDecodeError as error:
        got = f"not JSON at line {error.lineno}, column {error.colno} ({error.msg})"
    except tomllib.TOMLDecodeError as error:
        got = f"not TOML ({error})"
    except UnicodeDecodeError:
        got = "not UTF-8 text"
    raise Refusal(Fault(where=file, got=got, wants=wants)) from None


def _lines(source: BinaryIO) -> Iterator[list[bytes]]:
    """Give the complete lines that have arrived, so that a reader at the other end of a pipe need not wait."""
    rest, mark = b"", _BYTE_ORDER_MARK
    read = getattr(source, "read1", source.read)
    while block := read(BLOCK):
        *lines, rest = (rest + block.removeprefix(mark)).split(b"\n")
        mark = b""
        for at in range(0, len(lines), LINES):
            yield lines[at : at + LINES]
    if rest:
        yield [rest]


def _stream(source: BinaryIO, sink: BinaryIO, *, limits: bool) -> int:
    """Answer each line in order; gives the exit status: 1 if any line was refused or there was none."""
    number, refused, seen = 0, 0, 0
    for lines in _lines(source):
        given: list[tuple[str, object]] = []
        numbers: list[int] = []
        for line in lines:
            number += 1
            if line.strip():
                given.append((f"line {number}", _parsed(line, number)))
                numbers.append(number)
        seen += len(given)
        answers = app.solve_positions(given, with_limits=limits)
        out = []
        for at, answer in zip(numbers, answers, strict=True):
            if isinstance(answer, Refusal):
                refused += 1
                out.append(orjson.dumps({"outcome": "refused", "line": at, "message": str(answer)}))
            else:
                out.append(orjson.dumps(answer))
        if out:
            sink.write(b"\n".join(out) + b"\n")
            sink.flush()
    if not seen:
        raise Refusal(Fault(where="standard input", got="empty", wants="one JSON object a line"))
    if refused:
        click.echo(f"{refused} of {seen} lines were refused; each says why in its place.", err=True)
    return 1 if refused else 0


def _parsed(line: bytes, number: int) -> object:
    """Parse one line; a malformed one becomes its Refusal, which app passes on."""
    try:
        return orjson.loads(line)
    except orjson.JSONDecodeError as error:
        got = f"not JSON at column {error.colno} ({error.msg})"
        return Refusal(Fault(where=f"line {number}", got=got, wants="one JSON object"))
