"""Set Ringwright up and run it: the one file to start with.  Standard library only.

python3 start.py                     set up, then make the setting card of the demo mill
python3 start.py test [pytest args]  set up, then check the code: lint, types, layers, tests
"""

import hashlib
import importlib.util
import json
import os
import platform
import shutil
import subprocess
import sys
import time
from pathlib import Path
from typing import Any, NoReturn

HERE = Path(__file__).resolve().parent

# An old Python must get as far as this sentence, so nothing above it may use newer syntax.
if sys.version_info < (3, 11):  # noqa: UP036
    NEWER = [
        name
        for name in ("python3.13", "python3.12", "python3.11")
        if shutil.which(name) and subprocess.call([name, "-c", ""], stderr=subprocess.DEVNULL) == 0  # noqa: S603
    ]
    sys.exit(
        f"start.py: Ringwright needs Python 3.11 or newer and this is Python {platform.python_version()}; "
        f"{f'run it as {NEWER[0]} start.py' if NEWER else 'install a newer Python and run start.py with that'}."
    )

VENV = HERE / ".venv"
PROGRAMS = VENV / ("Scripts" if os.name == "nt" else "bin")
PYTHON = PROGRAMS / ("python.exe" if os.name == "nt" else "python")
STAMP = VENV / "ringwright-stamp.json"
LOG = VENV / "install.log"
KERNEL = HERE / "src" / "ringwright" / "physics" / "kernel"
OUT = "ringwright-out"
CARD = ("card", "demo", "--frame", "F1", "--yarn", "AV30K", "--out", OUT)
SETTINGS = ("CC", "RINGWRIGHT_NO_COMPILE", "RINGWRIGHT_PORTABLE")
INSTALL_WORDS = ("install", "--disable-pip-version-check", "--no-input", "--editable")
SIGNS_OF_NO_INDEX = (
    "connection broken",
    "connectionerror",
    "connecttimeout",
    "failed to establish a new connection",
    "name resolution",
    "network is unreachable",
    "newconnectionerror",
    "no matching distribution",
    "proxyerror",
    "read timed out",
    "sslerror",
)


def stop(sentence: str) -> NoReturn:
    """End with one sentence that says what is wrong and what to do."""
    sys.exit(f"start.py: {sentence}")


def run(command: list[str], environment: dict[str, str] | None = None) -> subprocess.CompletedProcess[str]:
    """Run a command to its end with its output kept as text."""
    return subprocess.run(  # noqa: S603 - all commands are put together in this file
        command,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        errors="replace",
        check=False,
        env=environment,
    )


def works(command: list[str]) -> bool:
    """Say whether a command runs and ends well."""
    try:
        return run(command).returncode == 0
    except OSError:
        return False


def fingerprint() -> str:
    """Digest of all that an installed project depends on: its place, its Python, its metadata, its C source."""
    digest = hashlib.sha256()
    for source in (HERE / "pyproject.toml", HERE / "hatch_build.py", *sorted(KERNEL.glob("*.[ch]"))):
        digest.update(source.read_bytes() if source.is_file() else b"")
    compiler = any(shutil.which(name) for name in ("cc", "gcc", "clang"))
    place = (str(HERE), sys.version_info[:2], platform.machine(), compiler)
    digest.update(repr((place, [os.environ.get(name) for name in SETTINGS])).encode())
    return digest.hexdigest()


def read_stamp() -> dict[str, Any]:
    """Read what an earlier run left in the environment; an empty dict where there is nothing to read."""
    try:
        return dict(json.loads(STAMP.read_text(encoding="utf-8")))
    except (OSError, TypeError, ValueError):
        return {}


def find_pip() -> list[str]:
    """First words of a pip command that installs into the environment, or nothing if there is no such pip."""
    inside, outside = [str(PYTHON), "-m", "pip"], [sys.executable, "-m", "pip", "--python", str(PYTHON)]
    return next((command for command in (inside, outside) if works([*command, "--version"])), [])


def ways_to_make_environment() -> list[list[str]]:
    """Commands that make the environment; more than one, as some Linux systems leave parts of Python out."""
    ways = []
    if importlib.util.find_spec("venv") and importlib.util.find_spec("ensurepip"):
        ways.append(["venv"])
    if importlib.util.find_spec("virtualenv"):
        ways.append(["virtualenv"])
    if importlib.util.find_spec("venv") and importlib.util.find_spec("pip"):
        ways.append(["venv", "--without-pip"])
    return [[sys.executable, "-m", *way, str(VENV)] for way in ways]


def make_environment() -> None:
    """Make the environment beside this file, marked as ours."""
    if VENV.exists() and not STAMP.exists() and any(VENV.iterdir()):
        stop(f"{VENV} was not made by start.py and is left alone; move it away and run start.py again.")
    try:
        shutil.rmtree(VENV, ignore_errors=True)
        VENV.mkdir(exist_ok=True)
        STAMP.write_text("{}", encoding="utf-8")
    except OSError as trouble:
        stop(f"{VENV} cannot be written ({trouble.strerror}); copy the project to a folder of your own.")
    for command in ways_to_make_environment():
        if works(command) and find_pip():
            return
    shutil.rmtree(VENV, ignore_errors=True)
    version = f"{sys.version_info[0]}.{sys.version_info[1]}"
    stop(
        f"Python {version} on this machine cannot make a virtual environment; install its venv part "
        f"(Debian and Ubuntu: apt install python{version}-venv) and run start.py again."
    )


def install(extras: list[str]) -> None:
    """Install the project into the environment; stop with the reason if that fails."""
    command = [*find_pip(), *INSTALL_WORDS, f"{HERE}[{','.join(extras)}]" if extras else str(HERE)]
    environment = {"PIP_RETRIES": "2", **os.environ}
    done = run(command, environment)
    if done.returncode and "ziglang" in done.stdout:
        print("  There is no C compiler and none could be fetched; installing without compiled code.", flush=True)
        done = run(command, {**environment, "RINGWRIGHT_NO_COMPILE": "1"})
    LOG.write_text(done.stdout, encoding="utf-8")
    if done.returncode:
        explain(done.stdout)


def explain(output: str) -> NoReturn:
    """Stop with the reason why pip failed."""
    if "no space left" in output.lower():
        stop(f"the disk is full; half a gigabyte is needed (details: {LOG}).")
    if any(sign in output.lower() for sign in SIGNS_OF_NO_INDEX):
        stop(f"pip could not get the packages; check the network, the proxy and pip's index (details: {LOG}).")
    errors = [line.strip() for line in output.splitlines() if "error" in line.lower()] or ["no reason given"]
    stop(f"pip failed: {errors[-1]} (details: {LOG}).")


def set_up(*wanted: str) -> None:
    """Make sure that the environment holds the project as it stands now, with the extras wanted."""
    now, stamp = fingerprint(), read_stamp()
    held = stamp.get("extras", [])
    sound = stamp.get("python") == list(sys.version_info[:2]) and works([str(PYTHON), "-c", "import sys"])
    if sound and stamp.get("fingerprint") == now and set(wanted) <= set(held):
        return
    began = time.monotonic()
    print(f"Setting Ringwright up in {VENV} (a minute or two the first time) ...", flush=True)
    if not sound or not find_pip():
        make_environment()
    extras = sorted({*held, *wanted})
    install(extras)
    STAMP.write_text(json.dumps({"python": sys.version_info[:2], "fingerprint": now, "extras": extras}))
    note = KERNEL / "_balloon.txt"
    if note.is_file():
        print(f"  Balloon kernel: {note.read_text(encoding='utf-8').strip()}")
    print(f"  Done in {time.monotonic() - began:.0f} s.\n", flush=True)


def follow(command: list[str], folder: Path | None = None) -> int:
    """Run a command that speaks for itself and return its exit status."""
    environment = {**os.environ, "PYTHONUTF8": "1"}
    return subprocess.run(command, cwd=folder, env=environment, check=False).returncode  # noqa: S603


def card() -> int:
    """Make the setting card of the demo mill in the folder where the user stands."""
    set_up()
    status = follow([str(PROGRAMS / "ringwright"), *CARD])
    if status == 0:
        made = sorted(path for path in Path(OUT).resolve().iterdir() if path.suffix in {".html", ".pdf"})
        print("\nThe card to open or to print:", *made, sep="\n  ")
        print(f"All commands: {PROGRAMS / 'ringwright'} --help")
    return status


def spark_is_there() -> bool:
    """Set up with Spark; where it cannot be had say why, since all other tests can do without it."""
    try:
        set_up("test", "spark")
    except SystemExit as trouble:
        print(f"Spark is not tried. {trouble}", flush=True)
        return False
    return True


def test(arguments: list[str]) -> int:
    """Run every check in order, and stop at the first that fails."""
    java = os.environ.get("JAVA_HOME") or shutil.which("java")
    # Half a gigabyte is not fetched on a person's machine unasked.
    with_spark = not arguments and bool(java) and ("CI" in os.environ or "spark" in read_stamp().get("extras", []))
    with_spark = with_spark and spark_is_there()
    set_up("test")
    checks = [
        ("lint", [str(PYTHON), "-m", "ruff", "check", "."]),
        ("types", [str(PYTHON), "-m", "mypy"]),
        ("layers", [str(PROGRAMS / "lint-imports"), "--no-logo"]),
        ("tests", [str(PYTHON), "-m", "pytest", "-q", "-n", "auto", *arguments]),
    ]
    if not arguments and any(shutil.which(name) for name in ("chromium", "chromium-browser")):
        checks.append(("pages", [str(PYTHON), "-m", "pytest", "-q", "-m", "browser"]))
    elif not arguments:
        print("The pages are not tried: no Chromium on this machine (Debian: apt-get install chromium).", flush=True)
    if with_spark:
        checks.append(("engines", [str(PYTHON), "-m", "pytest", "-q", "-m", "spark"]))
    elif not arguments:
        print("Spark is not tried: it needs Java, and CI=1 set, as it fetches half a gigabyte.", flush=True)
    for name, command in checks:
        began = time.monotonic()
        print(f"== {name}", flush=True)
        status = follow(command, HERE)
        print(f"== {name}: {'failed' if status else 'passed'} in {time.monotonic() - began:.0f} s", flush=True)
        if status:
            return status
    return 0


def main(words: list[str]) -> int:
    """Do what the words on the command line ask."""
    if not words:
        return card()
    if words[0] == "test":
        return test(words[1:])
    stop(f"{words[0]!r} is not known; say nothing for the card of the demo mill, or test for the checks.")


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit("start.py: stopped.")
