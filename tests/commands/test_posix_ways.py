"""The scripts in scripts/posix on bad days: a stop, a host that refuses, a session left open."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from exhibit.bridge.request_door import Request, ask
from exhibit.facts import kinds
from tests.commands.posix_host import SECRET, WITHIN_S, host_with_account, lacking, processes_of
from tests.commands.posix_visit import Visit
from tests.sampling import sample

LEFT = {"at its prompt": b"", "at the display": b"TERM=ansi top -d 2\r"}
"""How a session was left open -> what was typed for that."""
LEFT_OPEN = [(shell, place) for shell in ("bash", "sh") for place in LEFT]

pytestmark = [pytest.mark.waits, pytest.mark.timeout(300)]


@pytest.fixture
def at_login(needs, tmp_path, request):
    needs.that(not lacking(), lacking())
    with host_with_account(tmp_path, getattr(request, "param", "sh"), "ansi") as (host, account):
        host.wait_for(b"login: ")
        yield host, account


def sign_in(host, account) -> None:
    """A person signs in at the host's own keyboard."""
    host.type(account.name.encode() + b"\r")
    host.wait_for(b"Password: ")
    host.type(SECRET.encode() + b"\r")
    host.wait_for(rb"\$ $")


def nothing_runs(uid: int) -> bool:
    give_up_s = time.monotonic() + WITHIN_S
    while any(processes_of(uid)):
        if time.monotonic() > give_up_s:
            return False
        time.sleep(0.05)
    return True


def test_a_stop_during_the_display_stops_the_loads_and_signs_out(tmp_path, at_login):
    host, account = at_login

    def on_fact(fact):
        if isinstance(fact, kinds.StepStarted) and fact.step == "read-processes":
            assert ask(tmp_path / "door", Request(request="stop", by="a docent")).accepted

    visit = Visit(tmp_path, host, account, on_fact)
    ends = [(fact.script, fact.outcome, fact.tidy) for fact in visit.facts(kinds.ScriptEnded)]
    assert ends[1:] == [("round", "stopped", True)], visit.why()
    for load in ("disc", "processor"):
        number = visit.number_given(f"begin-{load}-load")
        assert number in visit.seen
        assert f"kill {number}" in [fact.command for fact in visit.facts(kinds.TypingConfirmed)]
    assert nothing_runs(account.uid)
    assert not Path(f"/tmp/exhibit.{visit.number_given('mkdir-tmp-exhibit-cd')}").exists()
    assert host.said.rstrip().endswith(b"login:")


def test_if_the_place_cannot_be_made_no_load_is_started_and_the_rest_is_tidied(tmp_path, at_login):
    host, account = at_login
    # A function takes precedence over the command with its name.
    with (account.home / ".profile").open("a") as profile:
        profile.write("mkdir() { echo 'mkdir: No space left on device'; return 1; }\n")
    visit = Visit(tmp_path, host, account)
    assert visit.status == 2
    failed = visit.facts(kinds.StepFailed)
    assert [fact.step for fact in failed] == ["mkdir-tmp-exhibit-cd"]
    assert "something was wrong" in failed[0].why
    assert [fact.trouble for fact in visit.facts(kinds.TroubleRaised)] == ["disc-full"]
    typed = [fact.command for fact in visit.facts(kinds.TypingConfirmed)]
    assert not [command for command in typed if "echo disc load" in command or command.startswith("rm")]
    assert typed[-1] == "exit"
    assert nothing_runs(account.uid)


@pytest.mark.trial(name="posix-left-open")
@pytest.mark.parametrize(
    ("at_login", "place"), sample(LEFT_OPEN, 2, lambda case: case), indirect=["at_login"]
)
def test_the_opening_signs_out_a_session_that_was_left_open(tmp_path, at_login, place):
    host, account = at_login
    sign_in(host, account)
    if LEFT[place]:
        host.type(LEFT[place])
        host.wait_for(rb"PID USER")
    visit = Visit(tmp_path, host, account, scripts=("--script", "opening"))
    assert visit.status == 0, visit.why()
    matched = {fact.step: fact.name for fact in visit.facts(kinds.StepMatched)}
    assert matched["exit-any-shell"] == "login"
    assert ("press-q-2-processes" in matched) == bool(LEFT[place])
    assert nothing_runs(account.uid)
    assert host.said.rstrip().endswith(b"login:")
