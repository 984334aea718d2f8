"""What a person sees who starts exhibit with a mistake: three sentences and exit status 2."""

from __future__ import annotations

import json
import os
import random
import shutil
import subprocess
import sys
import threading
import tty
from collections.abc import Iterator
from pathlib import Path

import pytest

from exhibit.facts import kinds
from exhibit.streams.recording import read_all
from exhibit.web.places import scripts_folder

WHIMBREL = f"{scripts_folder() / 'whimbrel'}"
SEED = 20261125


@pytest.fixture
def terminal() -> Iterator[tuple[int, str]]:
    master, slave = os.openpty()
    tty.setraw(slave)
    device = os.ttyname(slave)
    os.close(slave)
    yield master, device
    os.close(master)


def at(device: str, recordings: Path) -> list[str]:
    """The arguments of a run of the Whimbrel's scripts on this device."""
    return [WHIMBREL, "--line", device, "--port", "0", "--recordings", f"{recordings}"]


def exhibit(*arguments: str, **environment: str) -> tuple[int, str]:
    """The exit status, and what was printed on standard error."""
    ended = subprocess.run(
        [sys.executable, "-m", "exhibit", *arguments],
        capture_output=True,
        text=True,
        timeout=100,
        stdin=subprocess.DEVNULL,
        env={**os.environ, **environment},
    )
    assert "Traceback" not in ended.stderr
    return ended.returncode, ended.stderr


def _three_sentences(said: str) -> list[str]:
    lines = said.strip().splitlines()
    assert len(lines) == 3, said
    assert all(line[0].isupper() or line[0] in "/~" for line in lines), said
    return lines


@pytest.mark.parametrize("command", ["watch", "run"])
def test_a_missing_port_is_named_with_what_to_try(command: str, tmp_path: Path):
    status, said = exhibit(
        *(command, *at("/dev/no-such-port", tmp_path)),
        EXHIBIT_SECRET_TIDES="HERON",
        EXHIBIT_SECRET_KEEPER="GANNET",
    )
    what, _, do = _three_sentences(said)
    assert status == 2
    assert "/dev/no-such-port" in what
    assert do
    assert list(tmp_path.iterdir()) == []


def test_a_busy_port_is_named_with_the_program_that_has_it(terminal: tuple[int, str], tmp_path: Path):
    _, device = terminal
    with open(device) as taken, subprocess.Popen(["sleep", "100"], stdin=taken) as rival:
        taken.close()
        try:
            status, said = exhibit("watch", *at(device, tmp_path))
        finally:
            rival.kill()
    what, _, do = _three_sentences(said)
    assert status == 2
    assert device in what
    assert "sleep" in what
    assert list(tmp_path.iterdir()) == []


def test_a_wrong_speed_is_reported_with_the_speeds_to_try(terminal: tuple[int, str], tmp_path: Path):
    master, device = terminal
    dice = random.Random(SEED)
    over = threading.Event()

    def noise() -> None:
        # What arrives when the speeds differ: bytes of any value, NULs among them.
        while not over.wait(0.05):
            os.write(
                master, bytes(dice.choice((0x00, 0xF8, 0x80, 0xE0, 0x1C, 0xFE, 0x98)) for _ in range(40))
            )

    feeding = threading.Thread(target=noise)
    feeding.start()
    try:
        status, said = exhibit("watch", *at(device, tmp_path))
    finally:
        over.set()
        feeding.join()
    what, _, do = _three_sentences(said)
    assert status == 2
    assert "2400 baud" in what
    assert "9600" in do
    assert "1200" in do


def test_a_missing_secret_is_named_before_anything_is_opened(terminal: tuple[int, str], tmp_path: Path):
    _, device = terminal
    status, said = exhibit("run", *at(device, tmp_path))
    assert status == 2
    assert "EXHIBIT_SECRET_KEEPER" in said
    assert list(tmp_path.iterdir()) == []


def test_an_unknown_script_is_reported_with_those_that_there_are(terminal: tuple[int, str], tmp_path: Path):
    _, device = terminal
    status, said = exhibit(
        *("run", *at(device, tmp_path), "--script", "opnening"),
    )
    assert status == 2
    assert "opening" in said


def test_check_reports_every_mistake_with_file_and_line_and_ends_with_2(tmp_path: Path):
    folder = tmp_path / "machine"
    shutil.copytree(WHIMBREL, folder)
    machine = folder / "machine.toml"
    machine.write_text(machine.read_text().replace("baud =", "buad =").replace('"16 ms"', '"16 kg"'))
    ended = subprocess.run(
        [sys.executable, "-m", "exhibit", "check", f"{folder}"], capture_output=True, text=True, timeout=100
    )
    assert ended.returncode == 2
    lines = machine.read_text().splitlines()
    for planted in ("buad =", '"16 kg"'):
        number = next(n for n, line in enumerate(lines, 1) if planted in line)
        assert f"machine.toml:{number}" in ended.stdout


def test_check_of_a_folder_in_order_ends_with_0():
    assert exhibit("check", WHIMBREL) == (0, "")


@pytest.mark.parametrize("what", [["replay", "/no/such.exhibit"], ["check", "/no/such/folder"]])
def test_a_missing_file_is_reported_in_three_sentences(what: list[str]):
    status, said = exhibit(*what)
    _three_sentences(said)
    assert status == 2


def test_a_page_port_in_use_is_reported_with_what_to_do(tmp_path: Path):
    import socket

    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        status, said = exhibit("demo", "--no-browser", "--port", f"{port}", "--recordings", f"{tmp_path}")
    assert status == 2
    what, _, do = _three_sentences(said)
    assert f"port {port}: that port is in use" in what
    assert "--port" in do


def test_an_impossible_speed_is_reported_once(tmp_path: Path):
    status, said = exhibit(
        "demo", "--no-browser", "--speed", "0", "--port", "0", "--recordings", f"{tmp_path}"
    )
    assert status == 2
    what, _, do = _three_sentences(said)
    assert what == "The speed can't be 0."
    assert "from 0.01 to 10,000" in do


def test_a_file_that_is_no_recording_is_refused_politely(tmp_path: Path):
    notes = tmp_path / "notes.txt"
    notes.write_text("Bring a new belt.")
    for command in (("replay", "--no-browser", "--port", "0"), ("captions",), ("timings", WHIMBREL)):
        status, said = exhibit(*command, f"{notes}")
        assert status == 2
        what, _, do = _three_sentences(said)
        assert "notes.txt isn't a recording" in what
        assert "ends in .exhibit" in do


@pytest.mark.parametrize(("machine", "is_"), [("whimbrel", "simulated"), ("posix", "real")])
def test_a_folder_with_acts_for_a_simulated_docent_describes_a_simulated_machine(
    machine: str, is_: str, terminal: tuple[int, str], tmp_path: Path
):
    line = ["--line", terminal[1], "--recordings", f"{tmp_path}"]
    bridge = subprocess.Popen(
        [sys.executable, "-m", "exhibit", "bridge", f"{scripts_folder() / machine}", "--watch", *line],
        stdout=subprocess.PIPE,
        text=True,
    )
    assert bridge.stdout is not None
    try:
        recording = Path(json.loads(bridge.stdout.readline()))
        opened = read_all(recording).entries[0].fact
    finally:
        bridge.kill()
        bridge.communicate()
    assert isinstance(opened, kinds.RecordingOpened)
    assert opened.machine_is == is_


@pytest.mark.parametrize(("screen", "opened"), [("", False), ("DISPLAY", True), ("WAYLAND_DISPLAY", True)])
def test_no_browser_opens_in_the_terminal_that_a_run_needs(tmp_path: Path, monkeypatch, screen, opened):
    """On a computer without a screen `webbrowser` runs www-browser and waits until that ends."""
    said = tmp_path / "said"
    browser = tmp_path / "www-browser"
    browser.write_text(f"#!/bin/sh\necho open >{said}\n")
    browser.chmod(0o700)
    root = f"{Path(__file__).resolve().parents[2]}"
    env = {"PATH": f"{tmp_path}", "TERM": "xterm", "PYTHONPATH": root, **({screen: ":7"} if screen else {})}
    code = (
        "from pathlib import Path; from exhibit.commands import cli;"
        "cli._announce(open_browser=True)('http://127.0.0.1:8000/', Path('recording'))"
    )
    subprocess.run([sys.executable, "-c", code], env=env, check=True, capture_output=True)
    assert said.exists() is opened
