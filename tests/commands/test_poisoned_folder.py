"""Nothing is imported from the folder in which a command is run.

A stranger's folder can hold a file of the name of any module that the program imports. Python looks for
modules in the current folder first, unless it is told not to. Here each of them would leave a trace.
"""

from __future__ import annotations

import os
import select
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from exhibit.passing.own_python import own_environment
from exhibit.web.places import recordings_folder, scripts_folder

POISONED = (
    "msgspec", "flask", "flask_socketio", "gevent", "exhibit", "serial", "click", "pyte", "wcwidth", "PIL",
    "werkzeug", "json", "tomllib", "zlib", "sitecustomize", "usercustomize", "typing_extensions",
)  # fmt: skip
POISON = """\
import os
open(os.path.join(os.path.dirname(os.path.abspath(__file__)), f"ran-{__name__}"), "w").close()
raise SystemExit(f"{__file__} was imported")
"""
LONG_S = 100
WHIMBREL = f"{scripts_folder() / 'whimbrel'}"
RECORDING = f"{recordings_folder() / 'whimbrel-one-round.exhibit'}"


@pytest.fixture
def poisoned(tmp_path: Path) -> Path:
    folder = tmp_path / "poisoned"
    folder.mkdir()
    for name in POISONED:
        (folder / f"{name}.py").write_text(POISON)
        if name in ("flask", "exhibit"):
            (folder / name).mkdir()
            (folder / name / "__init__.py").write_text(POISON)
    return folder


@contextmanager
def exhibit(where: Path, *arguments: str, **environment: str) -> Iterator[subprocess.Popen[str]]:
    """The command, run in this folder. -P stands for the installed script, which lies in another folder."""
    process = subprocess.Popen(
        [sys.executable, "-P", "-m", "exhibit", *arguments],
        cwd=where,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        start_new_session=True,
        env={**os.environ, "HOME": f"{where.parent / 'home'}", **environment},
    )
    try:
        yield process
    finally:
        if process.poll() is None:
            process.send_signal(signal.SIGINT)
        try:
            process.communicate(timeout=LONG_S)
        except subprocess.TimeoutExpired:
            process.kill()
            process.communicate()


def said_until(process: subprocess.Popen[str], words: str) -> str:
    """What the process says up to these words, or to its end."""
    assert process.stdout is not None
    said, give_up_s = b"", time.monotonic() + LONG_S
    while words.encode() not in said and time.monotonic() < give_up_s:
        if select.select([process.stdout], [], [], 0.2)[0]:
            more = os.read(process.stdout.fileno(), 4096)
            if not more:
                break
            said += more
    return said.decode()


def nothing_ran(poisoned: Path) -> None:
    assert [path.name for path in poisoned.rglob("ran-*")] == []


@pytest.mark.parametrize(
    "arguments",
    [
        ("--help",),
        ("check", WHIMBREL, "--explain"),
        ("captions", RECORDING),
        ("text", RECORDING),
        ("timings", WHIMBREL, RECORDING),
        ("rehearse", WHIMBREL, RECORDING),
        ("rehearse", f"{scripts_folder() / 'heron'}", "--simulator"),
        ("new", "../new"),
    ],
    ids=lambda arguments: " ".join(Path(part).name for part in arguments),
)
def test_a_command_on_files_imports_nothing_from_there(poisoned: Path, arguments: tuple[str, ...]) -> None:
    with exhibit(poisoned, *arguments) as process:
        said, _ = process.communicate(timeout=LONG_S)
    nothing_ran(poisoned)
    assert "was imported" not in said
    assert said


@pytest.mark.parametrize(
    ("arguments", "ready"),
    [
        (("replay", RECORDING, "--no-browser", "--port", "0"), "The recording:"),
        (("page", "--port", "0", "--recordings", "../recordings"), "Press Ctrl-C"),
        (("simulate",), "line: "),
        (("demo", "--no-browser", "--port", "0", "--recordings", "../recordings"), "The recording:"),
    ],
    ids=lambda given: given[0] if isinstance(given, tuple) else "",
)
def test_nor_does_a_command_that_starts_processes(
    poisoned: Path, arguments: tuple[str, ...], ready: str
) -> None:
    with exhibit(poisoned, *arguments) as process:
        said = said_until(process, ready)
    nothing_ran(poisoned)
    assert ready in said


@pytest.mark.parametrize("command", ["run", "watch"])
def test_nor_does_a_run_at_a_line(poisoned: Path, command: str) -> None:
    """`watch` with a terminal also starts the process that passes characters."""
    ends = [os.openpty() for _ in range(2)]
    ports = [os.ttyname(slave) for _, slave in ends]
    terminal = ("--terminal", ports[1]) if command == "watch" else ()
    arguments = (command, f"{scripts_folder() / 'heron'}", "--line", ports[0], *terminal)
    arguments += ("--port", "0", "--recordings", "../recordings")
    runtime = poisoned.parent / "runtime"
    runtime.mkdir(mode=0o700)
    try:
        with exhibit(poisoned, *arguments, XDG_RUNTIME_DIR=f"{runtime}") as process:
            said = said_until(process, "The recording:")
    finally:
        for master, slave in ends:
            os.close(master)  # which also ends the process that passes characters
            os.close(slave)
    nothing_ran(poisoned)
    assert "The recording:" in said, said


def test_an_empty_or_relative_place_in_pythonpath_is_not_passed_on(poisoned: Path) -> None:
    """PYTHONPATH=$PYTHONPATH:/somewhere begins with an empty place, which means the current folder."""
    packages = f"{Path(__file__).resolve().parents[2]}"
    given = os.pathsep.join(["", ".", "poisoned", packages])
    assert own_environment({"PYTHONPATH": given, "A": "b"}, Path(packages)) == {
        "PYTHONPATH": packages,
        "A": "b",
    }


def test_a_process_runs_the_code_of_its_starter(tmp_path: Path) -> None:
    """Started in a checkout as `python -m exhibit`, all processes run the checkout; installed, none does."""
    assert own_environment({}, tmp_path)["PYTHONPATH"] == f"{tmp_path}"
    installed = Path(next(path for path in sys.path if path.endswith("site-packages"))).resolve()
    assert "PYTHONPATH" not in own_environment({}, installed)
    kept = os.pathsep.join([f"{tmp_path}", "/elsewhere"])
    assert own_environment({"PYTHONPATH": kept}, tmp_path)["PYTHONPATH"] == kept
