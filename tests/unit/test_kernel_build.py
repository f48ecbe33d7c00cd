"""What the build does with the kernel: which compiler it takes, and what it says when there is none."""

from __future__ import annotations

import ctypes

import hatch_build
import pytest

GOOD = "int rw_twice(int number) { return 2 * number; }\n"
BROKEN = "int rw_twice(int number) { return 2 * numb; }\n"
SWITCHES = ("CC", "RINGWRIGHT_NO_COMPILE", "RINGWRIGHT_PORTABLE")


@pytest.fixture(autouse=True)
def plain_machine(monkeypatch):
    for name in SWITCHES:
        monkeypatch.delenv(name, raising=False)


@pytest.fixture
def source(tmp_path):
    path = tmp_path / "kernel.c"
    path.write_text(GOOD, encoding="utf-8")
    return path


@pytest.fixture
def compiler():
    if not hatch_build.installed_compilers():
        pytest.skip("this machine has no C compiler")


@pytest.mark.usefixtures("compiler")
def test_a_kernel_that_compiles_is_a_library_that_loads_and_answers(source, tmp_path):
    library, note = hatch_build.compile_kernel(source, tmp_path)
    assert note.startswith("Compiled by ")
    assert ctypes.CDLL(str(library)).rw_twice(21) == 42


@pytest.mark.usefixtures("compiler")
def test_a_kernel_that_does_not_compile_is_told_with_the_compilers_own_reason(source, tmp_path):
    source.write_text(BROKEN, encoding="utf-8")
    library, note = hatch_build.compile_kernel(source, tmp_path)
    assert library is None
    assert "numb" in note


@pytest.mark.usefixtures("compiler")
def test_a_compiler_that_fails_gives_way_to_the_next(source, tmp_path, monkeypatch):
    monkeypatch.setenv("CC", "false")
    library, _ = hatch_build.compile_kernel(source, tmp_path)
    assert library is not None


def test_compiling_can_be_switched_off(source, tmp_path, monkeypatch):
    monkeypatch.setenv("RINGWRIGHT_NO_COMPILE", "1")
    assert hatch_build.compile_kernel(source, tmp_path) == (None, "Not compiled: RINGWRIGHT_NO_COMPILE is set.")


def test_a_missing_source_is_told_and_does_not_stop_the_install(tmp_path):
    assert hatch_build.compile_kernel(tmp_path / "kernel.c", tmp_path) == (None, "Not compiled: there is no kernel.c.")


def test_the_packaged_compiler_is_asked_for_only_where_there_is_none(monkeypatch):
    hook = object.__new__(hatch_build.KernelBuildHook)
    monkeypatch.setattr(hatch_build, "installed_compilers", lambda: [["cc"]])
    assert hook.dependencies() == []
    monkeypatch.setattr(hatch_build, "installed_compilers", list)
    assert hook.dependencies() == ["ziglang"]
    monkeypatch.setenv("RINGWRIGHT_NO_COMPILE", "1")
    assert hook.dependencies() == []


def test_a_machine_without_compilers_has_an_empty_list(tmp_path, monkeypatch):
    monkeypatch.setenv("PATH", str(tmp_path))
    assert hatch_build.installed_compilers() == []


def test_a_portable_build_does_not_ask_for_this_processor(tmp_path, monkeypatch):
    usual = hatch_build.commands(["cc"], tmp_path / "kernel.c", tmp_path / "kernel.so")
    monkeypatch.setenv("RINGWRIGHT_PORTABLE", "1")
    portable = hatch_build.commands(["cc"], tmp_path / "kernel.c", tmp_path / "kernel.so")
    assert ["-march=native" in command for command in usual] == [True, False]
    assert ["-march=native" in command for command in portable] == [False]


def test_a_failed_build_takes_away_the_library_of_an_earlier_one(tmp_path):
    kernel = tmp_path / "kernel"
    kernel.mkdir()
    (kernel / hatch_build.LIBRARY).write_text("of an earlier install", encoding="utf-8")
    hook = object.__new__(hatch_build.KernelBuildHook)
    hook.scratch = tmp_path
    (tmp_path / hatch_build.NOTE).write_text("Not compiled.", encoding="utf-8")
    hook.lay_beside_source(kernel)
    assert [path.name for path in kernel.iterdir()] == [hatch_build.NOTE]
