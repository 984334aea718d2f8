"""Notices that other processes of the host write to the terminal while the scripts in scripts/posix run."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator

import pytest

from exhibit.facts import kinds
from tests.commands.posix_host import host_with_account, lacking, message, wall
from tests.commands.posix_visit import Visit, readings_by_frame, values_shown
from tests.sampling import sample

SHELLS = sample(["bash", "sh"], 1)
A_FRAME_WITHIN_S = 0.3
"""After this time the host has printed a whole frame of its status display."""
PROMPT = rb"(?:\x1b\[\?2004h)?ready: $"
NOTICES = {
    "in the middle of a line of output": (wall, "Tea is served."),
    "as a prompt is printed": (wall, "Gale from the west.", "Ships stay in harbour."),
    "while a prompt stands": (message, "Are you there?", "", "Please answer."),
    "while a command is echoed": (wall, "High water at noon."),
    "on the status display": (wall, "The museum closes in an hour."),
}


def notice(moment: str) -> bytes:
    program, *lines = NOTICES[moment]
    return program(*lines)


pytestmark = [pytest.mark.trial(name="posix-notices"), pytest.mark.waits, pytest.mark.timeout(400)]


@pytest.fixture(scope="module", params=SHELLS)
def visit(request, needs, tmp_path_factory) -> Iterator[Visit]:
    needs.that(not lacking(), lacking())
    place = tmp_path_factory.mktemp("notices")
    with host_with_account(place, request.param, "ansi") as (host, account):
        with (account.home / ".profile").open("a") as profile:
            profile.write("printf 'half a '; sleep 1; printf 'line\\n'\n")

        def once(moment: str, pattern: bytes) -> None:
            host.when(pattern, lambda: host.notice(notice(moment)))

        once("in the middle of a line of output", rb"half a $")
        once("as a prompt is printed", rb"place [0-9]+ made\r\n" + PROMPT)
        once("while a command is echoed", rb"\(ulimit")

        def when_the_frame_is_printed() -> None:
            # A notice in the middle of a control sequence would turn it into another one, for any reader.
            time.sleep(A_FRAME_WITHIN_S)
            host.notice(notice("on the status display"))

        host.when(rb"top - [^~]*top - ", when_the_frame_is_printed)
        started: list[str] = []

        def on_fact(fact: kinds.Fact) -> None:
            if isinstance(fact, kinds.StepStarted):
                started.append(fact.step)
            if isinstance(fact, kinds.LandmarkReached) and started[-1:] == ["read-begin-disc-load"]:
                started.append("the notice is written")
                host.notice(notice("while a prompt stands"))

        host.wait_for(b"login: ")
        yield Visit(place, host, account, on_fact)


def test_the_scripts_end_done_and_tidy_nevertheless(visit: Visit):
    assert visit.status == 0, visit.why()
    assert {(fact.outcome, fact.tidy) for fact in visit.facts(kinds.ScriptEnded)} == {("done", True)}


@pytest.mark.parametrize("moment", [moment for moment in NOTICES if moment != "on the status display"])
def test_a_notice_is_taken_out_whole_and_once(visit: Visit, moment: str):
    seen = [fact.text for fact in visit.facts(kinds.InterruptionSeen) if NOTICES[moment][1] in fact.text]
    lines = [line.strip() for line in notice(moment).replace(b"\a", b"").decode().split("\r\n")]
    # There is a blank line before its heading, and nothing after the last line end.
    assert [[line.strip() for line in text.split("\n")] for text in seen] == [lines[1:-1]]


def test_a_prompt_that_a_notice_follows_still_counts(visit: Visit):
    """The host doesn't print it again."""
    confirmed = {fact.command: fact.attempts for fact in visit.facts(kinds.TypingConfirmed)}
    assert confirmed["once() (cp /bin/sh file; sync; sleep 1)"] == 1


def test_a_command_that_a_notice_interrupted_is_typed_on_after_it(visit: Visit):
    assert [fact for fact in visit.facts(kinds.TypingGarbled) if "ulimit" in fact.command] == []
    (confirmed,) = [fact for fact in visit.facts(kinds.TypingConfirmed) if "ulimit" in fact.command]
    assert confirmed.attempts == 1


def test_each_load_was_started_once(visit: Visit):
    received = visit.received_up_to(len(visit.entries) + 1)
    for load in (b"disc", b"processor"):
        assert len(re.findall(rb"\n" + load + rb" load [0-9]+\r", received)) == 1


def test_a_display_that_a_notice_was_printed_over_is_still_read_as_shown(visit: Visit):
    assert NOTICES["on the status display"][1].encode() in visit.received_up_to(len(visit.entries) + 1)
    frames = readings_by_frame(visit)
    assert len(frames) >= 3
    for rows, taken in frames:
        shown = values_shown(rows)
        assert {name: fact.value for name, fact in taken.items() if name != "jobs"} == shown
