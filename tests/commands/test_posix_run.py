"""`exhibit run scripts/posix` as a person starts it, with all its pauses, and answers it in the terminal."""

from __future__ import annotations

import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest

from exhibit.commands.terminal import TOO_SOON_S
from exhibit.facts import kinds
from exhibit.streams.recording import read_all
from tests.commands.posix_host import WITHIN_S, Sampler, host_with_account, lacking, processes_of
from tests.commands.posix_visit import folder_for, secrets_in

CAPTIONS = [
    "round-show-the-computer-asks-who",
    "password",
    "round-secret-password",
    "round-ps1-ready",
    "round-mkdir-tmp-exhibit-cd",
    "round-begin-disc-load",
    "round-begin-processor-load",
    "round-read-processes",
    "round-show-the-load-says-how",
    "round-press-q",
    "round-kill",
    "round-exit",
]
"""In this order. Captions about a changed load can come in between."""


def _captions_shown(entries: list[kinds.Entry]) -> list[str]:
    """The captions. Those that say what the computer did must rest on received bytes."""
    by_seq = {entry.seq: entry.fact for entry in entries}
    shown = [entry.fact for entry in entries if isinstance(entry.fact, kinds.CaptionShown)]
    for caption in shown:
        if caption.caption not in (CAPTIONS[0], "round-show-the-load-says-how"):
            assert any(isinstance(by_seq[seq], kinds.BytesReceived) for seq in caption.because), caption
    return [caption.caption for caption in shown if caption.caption not in ("load-rises", "load-falls")]


@pytest.mark.waits
@pytest.mark.timeout(300)
def test_a_person_runs_the_opening_a_round_and_the_closing_from_a_terminal(needs, tmp_path):
    needs.that(not lacking(), lacking())
    with host_with_account(tmp_path, "bash", "ansi") as (host, account):
        host.wait_for(b"login: ")
        arguments = [
            f"{folder_for(account, tmp_path, pauses=True)}",
            "--line",
            host.device,
            "--rounds",
            "1",
            "--port",
            "0",
        ]
        arguments += ["--secrets", f"{secrets_in(tmp_path)}", "--recordings", f"{tmp_path / 'recordings'}"]
        sampler = Sampler(account.uid)
        run = subprocess.Popen(
            [sys.executable, "-m", "exhibit", "run", *arguments],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        try:
            assert run.stdin is not None
            assert run.stdout is not None
            lines: list[str] = []
            for line in run.stdout:
                lines.append(line.strip())
                if line.startswith("The visitors' page: "):
                    with urllib.request.urlopen(line.split()[-1], timeout=WITHIN_S) as page:
                        assert page.status == 200
                if "Done, or already so?" in line:
                    time.sleep(TOO_SOON_S)  # to read it
                    run.stdin.write("yes\n")
                    run.stdin.flush()
            status = run.wait(WITHIN_S)
        finally:
            run.kill()
            run.communicate()
            sampler.stop()
        assert status == 0, lines
        assert [line for line in lines if line.startswith("CAUTION")] != []
        (recording,) = (line for line in lines if line.startswith("The recording: "))
        entries = read_all(Path(recording.removeprefix("The recording: "))).entries
        ends = [entry.fact for entry in entries if isinstance(entry.fact, kinds.ScriptEnded)]
        assert [(fact.script, fact.outcome, fact.tidy) for fact in ends] == [
            (script, "done", True) for script in ("opening", "round", "closing")
        ]
        assert _captions_shown(entries) == CAPTIONS
        loads = [
            int(entry.fact.fields["number"])
            for entry in entries
            if isinstance(entry.fact, kinds.StepMatched) and entry.fact.step.endswith("-load")
            if "number" in entry.fact.fields
        ]
        assert len(loads) == 2
        assert set(loads) <= set(sampler.seen)
        assert sampler.secret_seen_in == []
        assert not {process.pid for process in processes_of(account.uid)} & set(loads)
