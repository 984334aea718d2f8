"""The Dunlin does what its handbook says, paints its screens, and its log says what is true."""

import re
from pathlib import Path

import pytest

from tests.foreign.dunlin import LOCKS_AFTER_US, Dunlin
from tests.foreign.dunlin_host import COMMANDS, HARMFUL, HARMLESS, SECRETS, TURN_US
from tests.foreign.dunlin_session import (
    Terminal,
    at_fixed_loader,
    at_host,
    at_second_loader,
    boot,
    sign_on,
    signed_on,
    transcript,
)
from tests.foreign.wire import Wire

pytestmark = pytest.mark.pure

HERE = Path(__file__).parent
HANDBOOK = (HERE / "dunlin-handbook.md").read_text("utf-8")
BLOCKS = [
    [line.strip() for line in block.strip().splitlines()]
    for block in re.findall(r"(?:^    .*\n)+", HANDBOOK, re.MULTILINE)
]


def without_blocks(text: str) -> str:
    """`text` with every number of blocks the same."""
    return re.sub("[0-9]+ blocks", "0 blocks", text)


def now(terminal: Terminal):
    """What is true now."""
    return terminal.machine.truth.at(terminal.now_us)


def loading(terminal: Terminal) -> None:
    """From the second loader to the host, after a crash."""
    terminal.see("unit address (hex)")
    terminal.run(0.5)
    terminal.keys("1f40")
    terminal.see("boot from?")
    terminal.run(0.5)
    boot(terminal)


# ---- the handbook


def test_every_dialogue_of_the_handbook_appears_on_the_screen_as_it_stands_there():
    terminal = at_second_loader()
    screens = [terminal.rows]
    terminal.keys("d1\r780314\r0915\r")
    terminal.see("100 %")
    screens.append(terminal.rows)
    terminal.see("name:")
    terminal.run(0.5)
    sign_on(terminal, "porter")
    terminal.command("run sieve 5")
    terminal.command("run weave 3")
    screens.append(terminal.rows)
    terminal.keys("bye\r")
    terminal.run(1)
    sign_on(terminal)
    terminal.command("end all")
    terminal.keys("down\r")
    terminal.see("(yes or no)?")
    screens.append(terminal.rows)
    terminal.keys("yes\r")
    terminal.see("safe to switch off")
    screens.append(terminal.rows)
    assert len(BLOCKS) == 5
    for block, rows in zip(BLOCKS, screens, strict=True):
        text = "\n".join(row for row in rows if row)
        assert without_blocks("\n".join(block)) in without_blocks(text)


def test_the_handbook_lists_the_commands_secrets_and_jobs_there_are():
    assert {name.split()[0] for name in re.findall(r"^\| `([a-z ]+)` \|", HANDBOOK, re.MULTILINE)} == set(
        COMMANDS
    )
    assert dict(re.findall(r"^\| ([a-z]+) \| ([a-z]+[0-9]+) \|", HANDBOOK, re.MULTILINE)) == SECRETS
    turns = re.findall(r"^\| ([a-z]+) \| .* \| ([0-9]) s \|", HANDBOOK, re.MULTILINE)
    assert {kind: int(s) * 1_000_000 for kind, s in turns} == TURN_US
    assert set(HARMLESS) | set(HARMFUL) == set(COMMANDS)


def test_the_transcript_is_what_the_machine_shows():
    assert (HERE / "dunlin-console.txt").read_text("utf-8") == transcript()


def test_the_fixed_loader_shows_no_digit_and_acts_on_the_fourth():
    terminal = at_fixed_loader()
    terminal.type("1F4")
    assert terminal.run(5) == ""
    terminal.type("0")
    assert terminal.run(1).startswith("\r\nunit at 1F40")


def test_the_fixed_loader_refuses_other_addresses_and_begins_again_after_another_key():
    terminal = at_fixed_loader()
    terminal.keys("1F4A")
    terminal.see("no unit at 1F4A\nunit address (hex)")
    terminal.run(0.5)
    terminal.keys("1F\r")
    terminal.see("\n?\nunit address (hex)")
    terminal.run(0.5)
    terminal.keys("1F40")
    terminal.see("boot from?")
    assert now(terminal).prompt == "boot from?"


@pytest.mark.parametrize(
    ("answers", "said"),
    [
        (["d0"], "d0: no system on it"),
        ([""], "d0: no system on it"),
        (["t0"], "t0: not ready"),
        (["D1"], "D1: no such unit"),
        (["d1", "741231"], "the year must be 75 to 94"),
        (["d1", "950101"], "the year must be 75 to 94"),
        (["d1", "780230"], "no such day"),
        (["d1", "14-3-78"], "six digits please"),
        (["d1", "780314", "2400"], "no such time"),
    ],
)
def test_the_second_loader_refuses_and_asks_again(answers, said):
    terminal = at_second_loader()
    for answer in answers:
        terminal.keys(answer + "\r")
        terminal.run(0.5)
    question = terminal.rows[terminal.cursor[0] - 1]
    assert said in terminal.shown
    assert question in ("boot from?", "date (yymmdd)?", "time (hhmm)?")
    assert terminal.machine.truth.of("refused")[0].about == (answers[-1] or "d0")


@pytest.mark.parametrize(
    ("command", "said"),
    [
        ("lsit", "lsit: no such command"),
        ("LIST", "LIST: no such command"),
        ("down", "down: ask the fitter"),
        ("wipe", "wipe: ask the fitter"),
        ("end 7", "end which job? its number, or all"),
        ("run sieve", "run sieve or weave, and how many minutes"),
        ("run sieve 31", "1 to 30 minutes"),
    ],
)
def test_what_cannot_be_done_is_refused(command, said):
    terminal = signed_on(who="porter")
    terminal.command(command)
    assert terminal.rows[20] == said
    assert terminal.rows[22] == "2 porter>"
    assert [truth.about for truth in terminal.machine.truth.of("refused")] == [command]
    assert now(terminal).harms == ()


def test_a_wrong_secret_is_not_admitted():
    terminal = at_host()
    terminal.keys("fitter\rcopper23\r")
    terminal.see("not admitted")
    terminal.run(3)
    assert "not admitted" not in terminal.shown
    assert now(terminal).signed_on is None
    sign_on(terminal)
    assert now(terminal).signed_on == "fitter"


# ---- the line


def test_a_character_takes_ten_bits_at_9600_baud():
    terminal = at_second_loader()
    times = [at_us for at_us, _ in terminal.stamped]
    assert min(after - before for before, after in zip(times, times[1:], strict=False)) == 1042


def test_xoff_stops_what_it_sends_and_xon_lets_it_go_on():
    terminal = signed_on()
    terminal.type("list\r")
    terminal.run(0.1)
    terminal.type("\x13")
    terminal.run(0.01)
    assert terminal.run(30) == ""
    terminal.type("\x11")
    terminal.see("30 shelves")


def test_what_is_typed_ahead_is_kept_and_too_much_of_it_brings_xoff():
    terminal = signed_on()
    terminal.type("list\r")
    terminal.run(0.01)
    for letter in "date\rwho\r":
        terminal.type(letter)
    terminal.see("fitter at terminal 1")
    assert [truth.about for truth in terminal.machine.truth.of("command")] == ["list", "date", "who"]
    assert "\x13" not in terminal.heard
    terminal.type("list\r")
    terminal.run(0.01)
    terminal.type("d" * 40)
    terminal.run(3)
    assert terminal.heard.count("\x13") == 1
    assert terminal.heard.count("\a") == 8
    assert terminal.heard.index("\x13") < terminal.heard.index("\x11")
    assert terminal.rows[22].endswith("> " + "d" * 32)


def test_the_secret_is_not_shown_unless_it_is_typed_elsewhere():
    terminal = signed_on()
    assert SECRETS["fitter"] not in terminal.heard
    assert terminal.machine.truth.of("secret shown") == []
    terminal.keys(SECRETS["fitter"])
    assert len(terminal.machine.truth.of("secret shown")) == 1


# ---- the screen


def test_the_middle_scrolls_and_the_other_rows_stay():
    terminal = signed_on()
    head = terminal.rows[0]
    terminal.command("list")
    assert terminal.rows[0] == head
    assert terminal.rows[1] == ""
    assert terminal.rows[21] == "-" * 80
    assert terminal.rows[22] == "2 fitter>"
    assert terminal.cursor == (23, 11)
    assert [row.split()[0] for row in terminal.rows[2:21]] == [f"{n}" for n in range(13, 31)] + ["30"]


def test_the_head_is_in_reverse_and_its_clock_goes_on_while_somebody_types():
    terminal = signed_on()
    terminal.keys("da")
    before = terminal.cursor
    assert terminal.reversed_in(1).startswith(" DUNLIN HOST 5   fitter   Tue 14 Mar 78")
    terminal.run(125)
    assert "09:17" in terminal.reversed_in(1)
    assert terminal.cursor == before
    terminal.keys("te\r")
    terminal.see("2 fitter>")
    assert now(terminal).last_command == "date"


def test_a_notice_is_written_in_the_last_row_until_the_next_command():
    terminal = signed_on()
    terminal.keys("da")
    before = terminal.cursor
    terminal.done("notice The lift is out of order")
    terminal.run(1)
    assert terminal.reversed_in(24) == " 09:15 The lift is out of order "
    assert terminal.cursor == before
    terminal.keys("te\r")
    terminal.run(1)
    assert terminal.rows[23] == ""
    assert [truth.about for truth in terminal.machine.truth.of("notice")] == ["The lift is out of order"]


def test_a_notice_leaves_a_listing_as_it_is():
    quiet, noisy = signed_on(), signed_on()
    quiet.type("list\r")
    noisy.type("list\r")
    noisy.run(0.3)
    noisy.done("notice The lift is out of order")
    quiet.run(5)
    noisy.run(5)
    assert noisy.rows[:23] == quiet.rows[:23]


def test_the_screen_can_be_painted_again():
    terminal = signed_on()
    terminal.command("list")
    terminal.keys("da")
    before = terminal.rows
    terminal.type("\x17")
    assert "\x1b[2J" in terminal.run(3)
    assert terminal.rows == before
    terminal.keys("te\r")
    terminal.run(1)
    assert now(terminal).last_command == "date"


def test_what_is_typed_can_be_taken_back():
    terminal = signed_on()
    terminal.keys("stop\x1bdatx\x08e\r")
    terminal.run(1)
    assert [truth.about for truth in terminal.machine.truth.of("command")] == ["date"]


def test_the_load_display_paints_only_the_cells_that_change():
    terminal = signed_on()
    terminal.command("run weave 9")
    terminal.keys("load\r")
    terminal.run(1)
    assert now(terminal).prompt == "load display"
    for _ in range(5):
        came = terminal.run(2)
        figures = terminal.machine.host.load.figures[-1][1]
        assert 0 < len(came) < 150
        assert int(terminal.rows[2].split()[-2]) == figures["processor"]
        assert int(terminal.rows[4].split()[-2]) == figures["store"]
        assert terminal.rows[9].split() == ["d1", f"{figures['reads']}", f"{figures['waits']}"]
        assert terminal.rows[12].split() == ["jobs", "1"]
    terminal.type("x")
    assert "\a" in terminal.run(0.1)
    terminal.type("q")
    terminal.see("3 fitter>")
    assert "processor" not in terminal.shown


def test_a_notice_tears_a_frame_of_the_load_display_until_it_is_painted_again():
    terminal = signed_on()
    terminal.command("run weave 9")
    assert terminal.act("tear Mind the step").startswith("not done")
    terminal.keys("load\r")
    terminal.run(1)
    before = terminal.rows
    terminal.done("tear Mind the step")
    terminal.run(2.5)
    reads = f"{terminal.machine.host.load.figures[-1][1]['reads']}"
    assert terminal.rows[9] == before[9]
    assert reads not in terminal.rows[9]
    assert terminal.rows[23].startswith(f" 09:15 Mind the step {reads}")
    terminal.type("\x17")
    terminal.run(1)
    assert terminal.rows[23] == ""
    assert terminal.rows[8] == before[8]
    assert terminal.rows[12].split() == ["jobs", "1"]
    assert terminal.rows[9].split()[1] == f"{terminal.machine.host.load.figures[-1][1]['reads']}"


def test_the_screen_locks_and_the_first_key_only_unlocks_it():
    terminal = signed_on()
    terminal.command("date")
    terminal.keys("li")
    before = terminal.rows
    terminal.run(LOCKS_AFTER_US / 1_000_000 + 1)
    assert [row.strip() for row in terminal.rows if row] == ["press a key"]
    assert now(terminal).asleep
    assert now(terminal).prompt is None
    place = terminal.shown
    terminal.run(20)
    assert terminal.shown.strip() == "press a key"
    assert terminal.shown != place
    terminal.type("s")
    terminal.run(1)
    assert not now(terminal).asleep
    assert terminal.rows[1:] == before[1:]
    terminal.keys("st\r")
    terminal.run(3)
    assert now(terminal).last_command == "list"


def test_notices_do_not_keep_the_screen_from_locking():
    terminal = signed_on()
    for _ in range(9):
        terminal.run(30)
        terminal.done("notice Mind the step")
    assert now(terminal).asleep


# ---- jobs and ends


def test_jobs_are_numbered_and_end_by_themselves():
    terminal = signed_on()
    terminal.command("run sieve 1")
    terminal.command("run weave 2")
    assert "\njob 101 begun\n" in terminal.shown
    assert "\njob 102 begun\n" in terminal.shown
    state = now(terminal)
    assert {number: job.kind for number, job in state.jobs.items()} == {101: "sieve", 102: "weave"}
    assert "2 jobs" in terminal.reversed_in(1)
    terminal.command("jobs")
    assert re.search(r"\n101   sieve   0:5\d      0\n102   weave   1:5\d      0\n2 jobs\n", terminal.shown)
    terminal.see("job 101 ended after 10 turns, 0 errors", 90)
    terminal.run(0.1)
    assert "1 jobs" in terminal.reversed_in(1)
    terminal.done("unit fault")
    terminal.see("job 102: d1 block")
    terminal.see("job 102 ended after 13 turns, 1 errors", 90)
    ended = {truth.number: truth.at_us for truth in terminal.machine.truth.of("job ended")}
    assert ended == {number: job.ends_us for number, job in state.jobs.items()}


def test_one_job_or_all_can_be_ended_and_go_on_after_signing_off():
    terminal = signed_on()
    for _ in range(5):
        terminal.command("run sieve 9")
    terminal.command("run sieve 9")
    assert terminal.rows[20] == "too many jobs"
    terminal.command("end 103")
    assert terminal.rows[20].startswith("job 103 ended after")
    terminal.keys("bye\r")
    terminal.see("name:")
    assert (now(terminal).signed_on, set(now(terminal).jobs)) == (None, {101, 102, 104, 105})
    sign_on(terminal, "porter")
    terminal.command("end all")
    assert terminal.rows[20] == "4 jobs ended"
    assert now(terminal).jobs == {}
    terminal.run(600)
    assert "ended after" not in terminal.rows[23]


def test_a_crash_breaks_off_and_only_start_helps():
    terminal = signed_on()
    assert terminal.act("start").startswith("not done")
    terminal.command("run weave 9")
    terminal.keys("load\r")
    terminal.run(10)
    terminal.keys("q")
    terminal.run(1)
    terminal.type("list\r")
    terminal.run(0.3)
    terminal.done("crash")
    terminal.run(5)
    assert "30 shelves" not in terminal.shown
    state = now(terminal)
    assert (state.crashed, state.runs, state.jobs, state.signed_on) == (True, "halted", {}, None)
    terminal.type("date\r")
    assert terminal.run(120) == ""
    terminal.done("start")
    loading(terminal)
    assert "d1 was in use, checking it" in terminal.heard
    sign_on(terminal)
    assert terminal.rows[22] == "1 fitter>"
    assert "0 jobs" in terminal.reversed_in(1)
    terminal.command("run sieve 1")
    assert terminal.rows[20] == "job 101 begun"
    terminal.keys("load\r")
    terminal.run(1)
    assert int(terminal.rows[9].split()[1]) < 10


@pytest.mark.parametrize("command", HARMFUL)
def test_harm_is_done_at_once_and_is_in_the_log(command):
    terminal = signed_on()
    terminal.keys(command + "\r")
    terminal.run(3)
    assert now(terminal).harms == (command,)
    assert (now(terminal).runs == "halted") == (command == "stop")


def test_shutting_down_wants_yes_in_full():
    terminal = signed_on()
    terminal.command("run sieve 9")
    terminal.keys("down\r")
    terminal.see("1 jobs are running. Shut down (yes or no)?")
    terminal.keys("y\r")
    terminal.see("not shut down")
    assert set(now(terminal).jobs) == {101}
    terminal.run(1)
    terminal.keys("down\r")
    terminal.run(1)
    terminal.keys("yes\r")
    terminal.see("safe to switch off")
    terminal.run(1)
    assert (now(terminal).runs, now(terminal).crashed, now(terminal).jobs) == ("halted", False, {})
    assert now(terminal).closed
    terminal.done("power off")
    terminal.done("power on")
    loading(terminal)
    assert "was in use" not in terminal.heard


def test_the_same_seed_gives_the_same_session_also_through_a_wire_without_a_fault():
    straight, wired = signed_on(Dunlin(5)), signed_on(Wire(Dunlin(5)))
    for terminal in (straight, wired):
        terminal.command("list")
    assert straight.stamped == wired.stamped
    assert straight.machine.truth == wired.machine.truth


@pytest.mark.parametrize("fault", ["stall", "freeze", "notices"])
def test_faults_that_spoil_no_character_leave_the_sessions_working(fault):
    terminal = signed_on(Wire(Dunlin(), fault))
    for _ in range(30):
        terminal.command("date")
        terminal.run(20)
        terminal.see("fitter>")
    assert [truth.about for truth in terminal.machine.truth.of("command")] == ["date"] * 30
