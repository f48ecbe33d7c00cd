"""Compile the balloon kernel while the project is installed, with whatever C compiler is at hand.

The kernel is plain C, loaded through ctypes.  Where nothing can compile it the install still succeeds, and the program
takes its NumPy route.  What was done, or why nothing was, is printed and kept in a note beside the library.

Environment: ``CC`` names the compiler to try first; ``RINGWRIGHT_NO_COMPILE=1`` leaves the kernel out;
``RINGWRIGHT_PORTABLE=1`` compiles for any processor of the platform, not just for this one.
"""

from __future__ import annotations

import importlib.util
import os
import shlex
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface
from packaging.tags import platform_tags

KERNEL = Path("src", "ringwright", "physics", "kernel")
PLACE_IN_WHEEL = "ringwright/physics/kernel"
SOURCE = "balloon.c"
NOTE = "_balloon.txt"
LIBRARY = "_balloon" + {"win32": ".dll", "darwin": ".dylib"}.get(sys.platform, ".so")
FLAGS = ("-O3", "-fno-math-errno", "-ffp-contract=fast", "-shared", "-std=c11")
LOAD = "import ctypes, sys; ctypes.CDLL(sys.argv[1])"
LAST_RESORT = "ziglang"
PATIENCE_S = 300


def switched_on(name: str) -> bool:
    """Say whether an environment variable is set to anything but 0, false or nothing."""
    return os.environ.get(name, "").strip().lower() not in {"", "0", "false", "no"}


def installed_compilers() -> list[list[str]]:
    """List the C compilers of this machine, as the first words of a command, best first."""
    wanted = [os.environ.get("CC", ""), "cc", "gcc", "clang"]
    commands = [shlex.split(name, posix=os.name != "nt") for name in wanted if name.strip()]
    return [command for command in commands if shutil.which(command[0])]


def compilers() -> list[list[str]]:
    """List all compilers to try: those of the machine, then the one that comes as a Python package."""
    packaged = [[sys.executable, "-m", LAST_RESORT, "cc"]] if importlib.util.find_spec(LAST_RESORT) else []
    return installed_compilers() + packaged


def commands(compiler: list[str], source: Path, library: Path) -> list[list[str]]:
    """List the command lines to try with one compiler, the fastest code first."""
    position_independent = [] if sys.platform == "win32" else ["-fPIC"]
    plain = [*compiler, *FLAGS, *position_independent, "-o", str(library), str(source), "-lm"]
    for_this_processor = [*compiler, "-march=native", *plain[len(compiler) :]]
    return [plain] if switched_on("RINGWRIGHT_PORTABLE") else [for_this_processor, plain]


def failure(command: list[str], scratch: Path) -> str:
    """Run one command and return the line that tells why it failed, or nothing if it worked."""
    environment = {**os.environ, "ZIG_GLOBAL_CACHE_DIR": str(scratch), "ZIG_LOCAL_CACHE_DIR": str(scratch)}
    try:
        done = subprocess.run(  # noqa: S603 - the command is put together above
            command, capture_output=True, text=True, errors="replace", timeout=PATIENCE_S, check=False, env=environment
        )
    except (OSError, subprocess.TimeoutExpired) as trouble:
        return str(trouble)
    if done.returncode == 0:
        return ""
    lines = [line.strip() for line in (done.stderr or done.stdout).splitlines() if line.strip()]
    telling = [line for line in lines if "error" in line.lower()] or lines[-1:]
    return telling[0] if telling else f"it ended with status {done.returncode}"


def compile_kernel(source: Path, scratch: Path) -> tuple[Path | None, str]:
    """Compile the kernel into the scratch folder; return the library, or None, and a note of what happened."""
    if switched_on("RINGWRIGHT_NO_COMPILE"):
        return None, "Not compiled: RINGWRIGHT_NO_COMPILE is set."
    if not source.is_file():
        return None, f"Not compiled: there is no {source.name}."
    library, reasons = scratch / LIBRARY, {}
    for compiler in compilers():
        name = LAST_RESORT if LAST_RESORT in compiler else " ".join(compiler)
        for command in commands(compiler, source, library):
            reason = failure(command, scratch) or failure([sys.executable, "-c", LOAD, str(library)], scratch)
            if not reason:
                flags = " ".join(word for word in command[len(compiler) :] if word.startswith("-") and word != "-o")
                return library, f"Compiled by {name} with {flags}."
            reasons[name] = reason
    told = "; ".join(f"{name} says: {reason}" for name, reason in reasons.items())
    return None, f"Not compiled: {told or 'no C compiler was found.'}"


def this_platform() -> str:
    """Name this platform as wheels do; the names that promise other Linux systems are passed over."""
    return next(tag for tag in platform_tags() if not tag.startswith(("manylinux", "musllinux")))


class KernelBuildHook(BuildHookInterface):  # type: ignore[type-arg,unused-ignore]
    """Put the compiled kernel, or the note that says why there is none, into the install."""

    scratch: Path

    def dependencies(self) -> list[str]:
        """Ask for a packaged compiler, but only where the machine has none."""
        needed = not switched_on("RINGWRIGHT_NO_COMPILE") and not installed_compilers()
        return [LAST_RESORT] if needed else []

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Compile; an editable install keeps the library in the source tree, a wheel carries it."""
        self.scratch = Path(tempfile.mkdtemp(prefix="ringwright-"))
        kernel = Path(self.root) / KERNEL
        library, note = compile_kernel(kernel / SOURCE, self.scratch)
        (self.scratch / NOTE).write_text(note + "\n", encoding="utf-8")
        if library is None:
            self.app.display_warning(note)
        else:
            self.app.display_info(note)
        if version == "editable":
            self.lay_beside_source(kernel)
        else:
            made = [name for name in (LIBRARY, NOTE) if (self.scratch / name).is_file()]
            build_data["force_include"].update({str(self.scratch / n): f"{PLACE_IN_WHEEL}/{n}" for n in made})
        if library is not None:
            build_data["pure_python"] = False
            build_data["tag"] = f"py3-none-{this_platform()}"

    def lay_beside_source(self, kernel: Path) -> None:
        """Move what was made into the source tree; a library of an earlier install goes if there is no new one."""
        if not kernel.is_dir():
            return
        (kernel / LIBRARY).unlink(missing_ok=True)
        for name in (LIBRARY, NOTE):
            if (self.scratch / name).is_file():
                shutil.move(self.scratch / name, kernel / name)

    def finalize(self, version: str, build_data: dict[str, Any], artifact_path: str) -> None:  # noqa: ARG002
        """Remove the scratch folder."""
        shutil.rmtree(self.scratch, ignore_errors=True)
