"""The verbs about records coming in, from files and live, that the doors may ask for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ringwright.refusal import Fault, Refusal

if TYPE_CHECKING:
    import threading
    from collections.abc import Callable
    from pathlib import Path

    from ringwright.live.inbox import Aside
    from ringwright.live.listening import Doors
    from ringwright.store import Take

# Each verb imports what it needs as it is called, so that no other command waits for it.
# ruff: noqa: PLC0415

__all__ = [
    "broker_promise",
    "check_broker",
    "listen",
    "live_asides",
    "mend_asides",
    "new_source",
    "take",
    "takes",
    "write_asides",
    "write_broker",
]


def take(file: str, source: str, mill: str, store: str, progress: Callable[[int, int], None]) -> Take:
    """Take a CSV or Parquet file of a source into a store, made new if it is not there; ``demo`` is the demo mill.

    ``progress`` hears the bytes done and all bytes. Refusal if anything cannot be used; nothing is taken then.
    """
    from pathlib import Path

    from ringwright.events.source import read_source
    from ringwright.store import open_store, take_file
    from ringwright.verbs.app import open_mill

    stated, there = read_source(source), open_mill(mill)
    if not Path(file).is_file():
        mend = "Check the path."
        raise Refusal(Fault(where=file, got="not a file that is there", wants="a CSV or Parquet file", mend=mend))
    with open_store(store, new=True) as opened:
        return take_file(Path(file), stated, there, opened, progress)


def takes(store: str) -> list[Take]:
    """List what a store has taken in, first to last."""
    from ringwright.store import open_store

    with open_store(store) as opened:
        return opened.takes()


def new_source(file: str) -> Path:
    """Write a source file to finish beside a CSV file, suggested by its first lines; Refusal if it is there already."""
    from pathlib import Path

    from ringwright.events.new_source import source_text

    path = Path(file).with_suffix(".source.toml")
    try:
        with Path(file).open("rb") as held:
            sample = held.read(65536).decode("utf-8", errors="replace")
        with path.open("x", encoding="utf-8") as written:
            written.write(source_text(Path(file).stem, sample))
    except FileExistsError:
        mend = "Finish it, or move it out of the way."
        raise Refusal(Fault(where=str(path), got="there already", wants="a new file", mend=mend)) from None
    except OSError as error:
        reason = (error.strerror or "unknown reason").lower()
        raise Refusal(Fault(where=error.filename or file, got=reason, wants="a CSV file that can be read")) from None
    return path


def listen(store: str, mill: str, doors: Doors, stop: threading.Event, say: Callable[[str], None]) -> None:
    """Take live events by the doors until ``stop`` is set; ``say`` hears what a person should know."""
    from pathlib import Path

    from ringwright.live.listening import listen as serve
    from ringwright.verbs.app import open_mill

    serve(Path(store), open_mill(mill), doors, stop, say)


def check_broker(file: str) -> None:
    """Hold a mosquitto.conf against what live intake needs; Refusal with every setting that would lose messages."""
    from pathlib import Path

    from ringwright.live.broker import broker_faults

    try:
        text = Path(file).read_text(encoding="utf-8", errors="replace")
    except OSError as error:
        reason = (error.strerror or "unknown reason").lower()
        raise Refusal(Fault(where=file, got=reason, wants="a mosquitto.conf that can be read")) from None
    faults = broker_faults(text, file)
    if faults:
        raise Refusal(faults)


def broker_promise() -> str:
    """Say what a broker cannot promise."""
    from ringwright.live.broker import PROMISE

    return PROMISE


def write_broker(file: str, *, secured: bool = False) -> list[Path]:
    """Write the tuned settings of a broker as a new file; Refusal if it is there already.

    With ``secured`` they are for TLS and users, and the rights to topics are written beside them.
    """
    from pathlib import Path

    from ringwright.live.broker import topic_rights, tuned_settings

    texts = {Path(file): tuned_settings(secured=secured)}
    if secured:
        texts[Path(file).with_name("ringwright.acl")] = topic_rights()
    for path, text in texts.items():
        _write_new(path, text.encode())
    return list(texts)


def _write_new(path: Path, text: bytes) -> None:
    try:
        with path.open("xb") as written:
            written.write(text)
    except OSError as error:
        reason = (error.strerror or "unknown reason").lower()
        got = f"not writable ({reason})"
        raise Refusal(Fault(where=str(path), got=got, wants="the name of a new file")) from None


def live_asides(store: str) -> list[Aside]:
    """List the live lines of a store that were set aside, first to last; Refusal if it is no store."""
    from pathlib import Path

    from ringwright.live.inbox import Inbox
    from ringwright.store import open_store

    with open_store(store):
        inbox = Inbox(Path(store))
    try:
        return inbox.asides()
    finally:
        inbox.close()


def write_asides(store: str, file: str) -> int:
    """Write the live lines set aside into a new file, to be mended; gives how many. Refusal if it is there already."""
    from pathlib import Path

    from ringwright.live.aside import to_mend

    asides = live_asides(store)
    if asides:
        _write_new(Path(file), to_mend(asides))
    return len(asides)


def mend_asides(store: str, mill: str, file: str) -> tuple[int, list[tuple[int, str]]]:
    """Take a file of mended live lines, all in one commit; gives how many lines it has, and those still amiss.

    Lines that are taken are moved into the Parquet files at once. Refusal if nothing could be taken.
    """
    from pathlib import Path

    from ringwright.live.intake import Intake
    from ringwright.store import open_store
    from ringwright.verbs.app import open_mill

    with open_store(store):  # a store that is not there is not made for this
        there = open_mill(mill)
    try:
        lines = Path(file).read_bytes().split(b"\n")
    except OSError as error:
        reason = (error.strerror or "unknown reason").lower()
        raise Refusal(Fault(where=file, got=reason, wants="a file of mended lines that can be read")) from None
    intake = Intake(Path(store), there)
    try:
        amiss = intake.mend(lines)
        intake.move()
    finally:
        intake.inbox.close()
    return sum(bool(line.strip()) for line in lines), amiss
