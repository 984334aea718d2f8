"""The scripts in scripts/posix on a real host: two shells, each with a screen and without one."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from exhibit.decisions.display.characters import SUBSTITUTE_MARK
from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from tests.commands.posix_host import (
    GREETING_BYTES,
    SECRET,
    WITHIN_S,
    host_with_account,
    lacking,
    processes_of,
)
from tests.commands.posix_visit import Visit, readings_by_frame, values_shown
from tests.sampling import sample

HOSTS = sample([("bash", "ansi"), ("bash", "dumb"), ("sh", "ansi"), ("sh", "dumb")], 2, lambda host: host)
MANY_TICKS = 10
"""Hundredths of a second of processor time that nothing but a load uses."""

pytestmark = [pytest.mark.trial(name="posix-visits"), pytest.mark.waits, pytest.mark.timeout(400)]


def visited_apart(shell: str, term: str) -> object:
    """A host to visit, in a group of its own, so that another worker can take it."""
    name = f"{shell}-{term}"
    return pytest.param((shell, term), id=name, marks=pytest.mark.xdist_group(f"visit of {name}"))


@pytest.fixture(scope="module", params=[visited_apart(*host) for host in HOSTS])
def visit(request, needs, tmp_path_factory) -> Iterator[Visit]:
    needs.that(not lacking(), lacking())
    shell, term = request.param
    place = tmp_path_factory.mktemp("visit")
    with host_with_account(place, shell, term) as (host, account):
        host.wait_for(b"login: ")
        visit = Visit(place, host, account)
        visit.place, visit.shell, visit.term = place, shell, term
        visit.left_over = _left_over(visit)
        yield visit


def _left_over(visit: Visit) -> list[str]:
    """The account's processes that are still running after a while: a copy can take time to end."""
    give_up_s = time.monotonic() + WITHIN_S
    while (running := [process.command for process in processes_of(visit.account.uid)]) and (
        time.monotonic() < give_up_s
    ):
        time.sleep(0.05)
    return running


def test_every_script_ends_done_and_tidy(visit: Visit):
    assert visit.status == 0, visit.why()
    assert [(fact.script, fact.outcome, fact.tidy) for fact in visit.facts(kinds.ScriptEnded)] == [
        ("opening", "done", True),
        ("round", "done", True),
        ("closing", "done", True),
    ]
    assert visit.errors == ""


def test_the_recording_reads_and_replays_whole(visit: Visit):
    assert visit.damages == []
    assert isinstance(visit.entries[-1].fact, kinds.RecordingClosed)
    view = View()
    for entry in visit.entries:
        view.apply(entry)


def test_the_disc_load_ran_under_the_number_that_was_stopped_and_wrote_to_the_disc(visit: Visit):
    load = visit.seen[visit.number_given("begin-disc-load")]
    assert load.written_bytes > Path("/bin/sh").stat().st_size
    assert f"kill {load.pid}" in [fact.command for fact in visit.facts(kinds.TypingConfirmed)]


def test_the_processor_load_ran_under_the_number_that_was_stopped_and_kept_the_processor_busy(visit: Visit):
    load = visit.seen[visit.number_given("begin-processor-load")]
    assert load.processor_ticks > MANY_TICKS
    assert f"kill {load.pid}" in [fact.command for fact in visit.facts(kinds.TypingConfirmed)]


def test_nothing_of_the_visit_remains_on_the_host(visit: Visit):
    assert visit.left_over == []
    place = f"/tmp/exhibit.{visit.number_given('mkdir-tmp-exhibit-cd')}"
    assert not Path(place).exists()


def test_the_host_is_at_its_login_again(visit: Visit):
    assert visit.host.said.rstrip().endswith(b"login:")


def test_every_reading_is_what_the_display_showed(visit: Visit):
    frames = readings_by_frame(visit)
    # The script waits for two frames, and presses the key that ends the display at a later one.
    assert len(frames) >= 3 if visit.term == "ansi" else not frames
    for rows, taken in frames:
        table = taken.pop("jobs").table
        assert {name: fact.value for name, fact in taken.items()} == values_shown(rows)
        assert set(taken) == {"load", "tasks", "running", "busy", "idle"}
        assert [row["number"] for row in table] == [row.split()[0] for row in rows[7:]]
        assert [row["share"] for row in table] == [row.split()[8] for row in rows[7:]]


def test_the_display_shows_the_load_by_its_number(visit: Visit):
    number = f"{visit.number_given('begin-processor-load')}"
    tables = [fact.table for fact in visit.facts(kinds.ReadingTaken) if fact.name == "jobs"]
    listed = [fact.fields for fact in visit.facts(kinds.PatternSeen) if fact.pattern == "job"]
    (shares,) = {
        "ansi": [[row["share"] for row in table if row["number"] == number] for table in tables[-1:]],
        "dumb": [[fields["share"] for fields in listed if fields["number"] == number]],
    }[visit.term]
    assert len(shares) == 1
    assert float(shares[0]) > 0


def test_without_a_screen_the_host_is_asked_for_a_list_instead(visit: Visit):
    left_out = {fact.step for fact in visit.facts(kinds.StepLeftOut) if fact.script == "round"}
    averages = [fact for fact in visit.facts(kinds.PatternSeen) if fact.pattern == "load-average"]
    if visit.term == "dumb":
        assert {"read-processes", "read-processes-2", "press-q"} <= left_out
        assert [float(fact.fields["load"]) for fact in averages] == [
            float(fact.line.rpartition("average: ")[2].split(",")[0]) for fact in averages
        ]
        assert len(averages) == 1
    else:
        assert "uptime-ps-o-pid" in left_out
        assert averages == []


def test_the_hosts_greeting_is_kept_to_the_byte_and_controls_nothing(visit: Visit):
    assert GREETING_BYTES in visit.received_up_to(len(visit.entries) + 1)
    rows = {row for shown in visit.consoles() for row in shown}
    marked = "".join(chr(byte) if byte < 0x80 else SUBSTITUTE_MARK for byte in GREETING_BYTES)
    assert marked in rows


def test_what_was_typed_is_what_went_along_the_line(visit: Visit):
    typed = b"".join(kinds.to_bytes(fact.bytes) for fact in visit.facts(kinds.BytesTyped))
    assert bytes(visit.host.heard).replace(SECRET.encode(), b"") == typed


def test_bash_has_bracketed_paste_on_and_the_plain_shell_has_not(visit: Visit):
    received = visit.received_up_to(len(visit.entries) + 1)
    assert (b"\x1b[?2004h" in received) == (visit.shell == "bash" and visit.term == "ansi")


def test_the_secret_is_in_no_process_list_and_in_nothing_that_was_recorded(visit: Visit):
    assert visit.secret_seen_in == []
    assert visit.host.heard.count(SECRET.encode()) == 1  # it was really typed
    kept = [visit.path.read_bytes(), visit.received_up_to(len(visit.entries) + 1)]
    kept += ["\n".join(rows).encode() for rows in visit.consoles()]
    fours = [SECRET[start : start + 4] for start in range(len(SECRET) - 3)]
    for text in kept:
        folded = text.lower()
        assert [four for four in fours if four.lower().encode() in folded] == []
