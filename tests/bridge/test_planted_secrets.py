"""A machine on a real line shows a secret in every way: none of its files, pages and processes gets it."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
import tty
from pathlib import Path

import pytest

from exhibit.decisions.display.wire import with_parity
from exhibit.facts import kinds
from exhibit.folder.secret_words import variable_of
from exhibit.folder.whole import read_folder
from exhibit.streams.recording import read_all
from tests.bridge.stage import FOLDER
from tests.decisions.planted_secrets import WAYS, dice_for, four_in_a_row, random_secret
from tests.sampling import how_sampled

END = "THAT WAS ALL"
WITHIN_S = 60.0


def shown_by_the_machine(word: str) -> str:
    lines = [f"\r\nYOUR WORD IS {way(word)} FROM NOW ON" for way in WAYS.values()]
    return "".join([*lines, f"\r\nWORD FOR DESK KEEPER? {word}\r\n", f"\r\n{END}\r\n"])


def what_others_see_of(process: subprocess.Popen[bytes]) -> list[str]:
    """The list of processes, and the environment of each process that the run started, but the bridge's."""
    listed = subprocess.run(["ps", "-ww", "-eo", "args"], capture_output=True, text=True, check=True).stdout
    children = subprocess.run(
        ["ps", "-ww", "--ppid", f"{process.pid}", "-o", "pid=,args="],
        capture_output=True,
        text=True,
        check=True,
    ).stdout.splitlines()
    webs = [line.split()[0] for line in children if " page " in line]
    assert len(webs) == 1, children
    return [listed, *(Path(f"/proc/{pid}/environ").read_bytes().decode() for pid in webs)]


@pytest.mark.timeout(200)
@pytest.mark.parametrize("given", ["file", "environment"])
def test_a_watched_machine_that_shows_a_secret_leaves_no_trace_of_it(tmp_path: Path, given: str):
    dice = dice_for(f"real {given}")
    word = random_secret(dice)
    machine = read_folder(FOLDER).machine
    master, slave = os.openpty()
    tty.setraw(slave)
    secrets = tmp_path / "secrets.toml"
    command = [sys.executable, "-m", "exhibit", "watch", f"{FOLDER}", "--line", os.ttyname(slave)]
    command += ["--recordings", f"{tmp_path / 'recordings'}", "--port", "0"]
    environment = {**os.environ}
    if given == "file":
        secrets.write_text(f'harbour = "{word}"\n')
        secrets.chmod(0o600)
        command += ["--secrets", f"{secrets}"]
    else:
        environment[variable_of("harbour")] = word
    with (tmp_path / "said").open("wb") as said:
        process = subprocess.Popen(
            command, stdout=said, stderr=said, stdin=subprocess.DEVNULL, env=environment
        )
    seen: list[str] = []
    try:
        recording = _recording_in(tmp_path / "recordings")
        _until(lambda: any(isinstance(entry.fact, kinds.LineOpened) for entry in read_all(recording).entries))
        parity = machine.line.parity if machine.eighth_bit == "parity" else "none"
        data = bytes(with_parity(byte, parity) for byte in shown_by_the_machine(word).encode())
        while data:
            size = dice.randrange(1, 40)
            os.write(master, data[:size])
            data = data[size:]
            time.sleep(dice.choice([0.0, 0.0, 0.001, 0.02]))
        _until(lambda: END in _received(recording))
        seen = what_others_see_of(process)
    finally:
        process.terminate()
        process.wait(WITHIN_S)
        os.close(master)
        os.close(slave)
    assert any(isinstance(entry.fact, kinds.SecretWithheld) for entry in read_all(recording).entries)
    files = [path for path in tmp_path.rglob("*") if path.is_file() and path != secrets]
    # Checksums and digests are hexadecimal, in which four characters of a secret may well turn up.
    seen += [re.sub(r"[0-9a-f]{8,}", "", path.read_bytes().decode("latin-1")) for path in files]
    for text in [*seen, *("".join(chr(ord(c) & 0x7F) for c in text) for text in seen)]:
        assert four_in_a_row(word, text) == [], (word, text, how_sampled())


def _recording_in(folder: Path) -> Path:
    _until(lambda: folder.is_dir() and any(path.stat().st_size for path in folder.glob("*.exhibit")))
    return next(folder.glob("*.exhibit"))


def _received(recording: Path) -> str:
    facts = [entry.fact for entry in read_all(recording).entries]
    text = "".join(fact.bytes for fact in facts if isinstance(fact, kinds.BytesReceived))
    return "".join(chr(ord(character) & 0x7F) for character in text)


def _until(there) -> None:
    give_up_s = time.monotonic() + WITHIN_S
    while not there():
        assert time.monotonic() < give_up_s
        time.sleep(0.05)
