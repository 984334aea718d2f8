"""The Bittern does what its handbook says, has the habits of its time, and its log says what is true."""

import re
from datetime import date
from pathlib import Path

import pytest

from tests.foreign.bittern import DOZES_AFTER_US, Bittern
from tests.foreign.bittern_monitor import COMMANDS, HARMFUL, HARMLESS, PASS_US, WORDS
from tests.foreign.bittern_session import at_loader, at_monitor, key, load, sign_on, signed_on, transcript
from tests.foreign.core import with_even_parity
from tests.foreign.hand import Hand, paper, plain

pytestmark = pytest.mark.pure

HERE = Path(__file__).parent
HANDBOOK = (HERE / "bittern-handbook.md").read_text("utf-8")
BLOCKS = [
    re.sub("^    ", "", block, flags=re.MULTILINE).strip()
    for block in re.findall(r"(?:^    .*\n)+", HANDBOOK, re.MULTILINE)
]


def without_numbers(text: str) -> str:
    """`text` with every number the same, wherever in its column it stands."""
    return re.sub(r" *[0-9]+", " 0", text)


def now(hand: Hand):
    """What is true now."""
    return hand.machine.truth.at(hand.now_us)


# ---- the handbook


def test_every_dialogue_of_the_handbook_is_printed_as_it_stands_there():
    hand = at_monitor()
    sign_on(hand, "GAUGER")
    hand.line("BEGIN PACER 3", "\n*")
    hand.line("BEGIN RAKER", "\n?")
    hand.line("5", "\n*")
    hand.line("SIGN OFF", "\n-")
    sign_on(hand)
    hand.line("STOP 1", "\n*")
    hand.line("CLOSE", "(Y/N) ")
    key(hand, "Y", "DOWN (Y/N) ")
    key(hand, "Y", "GO OFF\n")
    printed = without_numbers(paper(hand.heard))
    assert len(BLOCKS) == 5
    for block in BLOCKS:
        assert without_numbers(block) in printed


def test_the_handbook_lists_the_commands_words_and_jobs_there_are():
    assert set(re.findall(r"^\| `([A-Z]+)", HANDBOOK, re.MULTILINE)) == set(COMMANDS)
    assert dict(re.findall(r"^\| ([A-Z]+) \| ([A-Z0-9]{7}) \|", HANDBOOK, re.MULTILINE)) == WORDS
    passes = re.findall(r"^\| ([A-Z]+) \| .* \| ([0-9]+) s \|", HANDBOOK, re.MULTILINE)
    assert {kind: int(s) * 1_000_000 for kind, s in passes} == PASS_US


def test_the_transcript_is_what_the_machine_prints():
    assert (HERE / "bittern-console.txt").read_text("utf-8") == transcript()


def test_start_does_nothing_before_the_lamp_ready_or_while_the_machine_runs():
    hand = Hand(Bittern(), even_parity=True)
    assert hand.act("start").startswith("not done")
    hand.done("power on")
    hand.run(11)
    assert "READY" in hand.act("start")
    hand.run(2)
    hand.done("start")
    assert hand.act("start").startswith("not done")


@pytest.mark.parametrize(
    ("answer", "printed"),
    [("TAPE", "?NO TAPE ON"), ("DISC", "?NOT A DEVICE"), ("pack", "?CAPITALS")],
)
def test_the_loader_refuses_a_device_and_asks_again(answer, printed):
    hand = at_loader()
    assert hand.line(answer, f"{printed}\n?").startswith(answer)
    load(hand)
    assert now(hand).runs == "system"


@pytest.mark.parametrize(
    ("answer", "printed"), [("17", "STORE ENDS AT 16"), ("40", "4 TO 32"), ("A", "4 TO 32")]
)
def test_the_loader_refuses_more_store_than_there_is(answer, printed):
    hand = at_loader()
    hand.line("PACK", "BLOCKS\n?")
    hand.line(answer, f"?{printed}\n?")
    hand.line("8", "YY\n?")


@pytest.mark.parametrize(
    ("answer", "printed"),
    [
        ("14-03-68", "?YEAR 69 TO 88"),
        ("14-03-89", "?YEAR 69 TO 88"),
        ("30-02-71", "?NO SUCH DAY"),
        ("14.03.71", "?NOT A DATE"),
    ],
)
def test_the_loader_takes_only_a_date_that_it_can_hold(answer, printed):
    hand = at_loader()
    hand.line("PACK", "BLOCKS\n?")
    hand.line("16", "YY\n?")
    hand.line(answer, f"{printed}\nDATE, DD-MM-YY\n?")
    hand.line("29-02-88", "(Y/N) ")
    key(hand, "N", "DATE, DD-MM-YY\n?")
    hand.line("01-01-69", "(Y/N) ")
    key(hand, "Y", f"{date(1969, 1, 1):%a} 01 JAN 69".upper())


@pytest.mark.parametrize(
    ("command", "printed"),
    [
        ("LEVLES", "?NO COMMAND LEVLES"),
        ("LE", "?NO COMMAND LE"),
        ("STOP 7", "?NO JOB 7"),
        ("SIGN GAUGER", "?WARDEN IS ON"),
        ("BEGIN PACER 21", "?1 TO 20 MINUTES"),
        ("BEGIN", "?BEGIN PACER OR RAKER"),
    ],
)
def test_what_cannot_be_done_is_refused(command, printed):
    hand = signed_on()
    assert printed in hand.line(command, "\n*")
    assert [truth.about for truth in hand.machine.truth.of("refused")] == [command]


def test_who_may_what():
    hand = at_monitor()
    for command in sorted(set(COMMANDS) - {"SIGN", "TIME"}):
        assert "?SIGN ON FIRST" in hand.line(command, "\n-")
    sign_on(hand, "GAUGER")
    for command in ("CLOSE", "ZERO", "HALT"):
        assert "?NOT FOR GAUGER" in hand.line(command, "\n*")
    assert now(hand).harms == ()


def test_wrong_words_are_refused_and_after_three_the_console_is_held():
    hand = at_monitor()
    hand.line("SIGN WARDEN", "########\r")
    for _ in range(2):
        hand.line("WRONG", "?NOT KNOWN\nWORD\n")
        hand.until("########\r")
    before_us = hand.now_us
    hand.line("WRONG", "\n-")
    assert "CONSOLE HELD" in plain(hand.heard)
    assert hand.now_us - before_us > 30_000_000
    assert now(hand).signed_on is None


# ---- the habits of the line


def test_a_character_takes_a_tenth_of_a_second_and_has_even_parity():
    hand = at_loader()
    times = [at_us for at_us, _ in hand.stamped]
    assert {after - before for before, after in zip(times, times[1:], strict=False)} == {100_000}
    assert all(byte == with_even_parity(byte) for _, data in hand.stamped for byte in data)


def test_fill_characters_follow_return_and_titles_are_struck_twice():
    hand = signed_on()
    assert re.search("\r\0{2,4}\n", hand.heard)
    assert "\n\x7f" in hand.heard
    assert re.search("MARSH MONITOR 4\r\0+MARSH MONITOR 4\r", hand.heard)


def test_headings_are_underlined_with_backspaces():
    hand = signed_on()
    hand.line("BEGIN PACER 1", "\n*")
    assert "JOB\b\b\b___" in hand.line("JOBS", "\n*")


def test_while_the_loader_or_nothing_runs_the_adapter_copies_what_is_typed():
    hand = at_loader()
    hand.run(0.5)
    hand.type("pAck")
    assert hand.run(1) == "pAck"
    hand.done("power off")
    hand.type("X")
    assert hand.run(1) == ""
    hand.done("power on")
    hand.type("anybody there")
    assert hand.run(2) == "anybody there"
    assert hand.machine.truth.of("command", "answer") == []


def test_the_adapter_copies_nothing_while_the_machine_prints():
    hand = at_loader()
    hand.line("DISC", "?NOT A")
    hand.type("XYZ")
    assert plain(hand.run(3)) == " DEVICE\n?"


def test_the_monitor_echoes_capitals():
    hand = signed_on()
    assert "SUN 14 MAR 71" in hand.line("time", "\n*")
    assert "*TIME\r" in hand.heard
    assert now(hand).last_command == "TIME"


def test_a_character_of_wrong_parity_is_not_taken():
    hand = signed_on()
    hand.run(1)
    hand.machine.receive(bytes((with_even_parity(ord("Z")) ^ 0x80,)), hand.now_us)
    assert hand.run(1) == ""
    assert "71" in hand.line("TIME", "\n*")


def test_it_does_not_listen_while_it_prints():
    hand = signed_on()
    hand.run(1)
    hand.type("LEVELS\r")
    hand.run(9)
    assert "\n04.00" not in hand.heard
    hand.type("ZERO\r")
    hand.until("TOTAL")
    hand.until("\n*")
    hand.run(2)
    assert now(hand).last_command == "LEVELS"


def test_it_sends_xoff_while_it_works_and_then_xon():
    hand = signed_on()
    before = len(hand.heard)
    hand.line("LEVELS", "\n00.00")
    assert re.search("\x13\x11\r?0", hand.heard[before:])
    times = {data: at_us for at_us, data in hand.stamped}
    assert times[bytes((with_even_parity(0x11),))] - times[bytes((with_even_parity(0x13),))] >= 4_000_000


def test_keys_for_one_letter_act_at_once_and_others_ring_the_bell():
    hand = signed_on()
    hand.line("CLOSE", "(Y/N) ")
    hand.run(1)
    hand.type("\rX")
    assert hand.run(1) == "\a\a"
    assert "NO\n*" in key(hand, "n", "\n*")
    assert now(hand).runs == "system"


def test_rub_out_drop_and_retype():
    hand = signed_on()
    hand.run(1)
    for letter in "TIMF\x7fE":
        hand.type(letter)
        hand.run(0.3)
    assert hand.heard.endswith("TIMF#E")
    hand.type("\x12")
    assert hand.until("*TIME").endswith("\n*TIME")
    hand.run(1)
    hand.type("\x1a")
    assert " DROPPED\n*" in hand.until("\n*")
    hand.line("JOBS", "\n*")
    assert now(hand).last_command == "JOBS"


def test_the_secret_is_not_printed_and_the_place_is_blackened_before():
    hand = signed_on()
    assert WORDS["WARDEN"] not in hand.heard
    assert re.search("H{8}\r\0+X{8}\r\0+N{8}\r\0+#{8}\r", hand.heard)
    assert hand.machine.truth.of("secret shown") == []
    hand.line(WORDS["WARDEN"], "\n*")
    assert len(hand.machine.truth.of("secret shown")) == 1


def test_it_falls_asleep_without_a_prompt_and_swallows_the_first_key():
    hand = signed_on()
    hand.run(1)
    assert hand.run(DOZES_AFTER_US / 1_000_000 + 2).strip("\r\n\0\x7f") == ""
    assert now(hand).asleep
    assert now(hand).prompt is None
    hand.type("T")
    assert plain(hand.run(4)) == "\n*"
    assert not now(hand).asleep
    assert now(hand).prompt == "*"
    hand.line("TIME", "\n*")
    assert now(hand).last_command == "TIME"


def test_messages_do_not_keep_it_awake_and_are_printed_while_it_sleeps():
    hand = signed_on()
    for _ in range(10):
        hand.run(30)
        hand.done("notice tea is ready")
    assert now(hand).asleep
    hand.run(10)
    assert plain(hand.heard).endswith("TEA IS READY\n")


# ---- interruptions, jobs, ends


def test_a_notice_breaks_into_a_word_that_is_printed():
    hand = signed_on()
    hand.run(1)
    hand.type("TIME\r")
    hand.until("SUN 1")
    hand.done("notice mind the step")
    hand.until("\n*")
    assert re.search(r"SUN 14?\n\a\* NOTE 00\.\d\d MIND THE STEP\n4? MAR", plain(hand.heard))


def test_a_notice_breaks_into_what_is_typed_and_what_was_typed_still_counts():
    hand = signed_on()
    hand.run(1)
    hand.type("TI")
    hand.run(1)
    hand.done("notice mind the step")
    assert hand.until("STEP\n").endswith("MIND THE STEP\n")
    assert plain(hand.run(2)) == ""
    assert "71" in hand.line("ME", "\n*")
    assert now(hand).last_command == "TIME"
    assert [truth.about for truth in hand.machine.truth.of("notice")] == ["MIND THE STEP"]


def test_jobs_are_numbered_and_end_by_themselves():
    hand = signed_on()
    assert "\nBEGUN AS 1\n" in hand.line("BEGIN PACER 1", "\n*")
    assert "\nBEGUN AS 2\n" in hand.line("BEG RAKER 2", "\n*")
    state = now(hand)
    assert {number: job.kind for number, job in state.jobs.items()} == {1: "PACER", 2: "RAKER"}
    assert re.search(r"\n  1  PACER   0\.[0-5]\d +\d\n", hand.line("JOBS", "\n*"))
    hand.until("* JOB 1 OVER  12 PASSES  0 ERRORS\n")
    assert set(now(hand).jobs) == {2}
    hand.until("*")
    hand.done("pack fault")
    hand.until("* JOB 2 ERROR  TRACK")
    hand.until("* JOB 2 OVER  15 PASSES  1 ERRORS\n")
    ended = {truth.number: truth.at_us for truth in hand.machine.truth.of("job ended")}
    assert ended == {number: job.ends_us for number, job in state.jobs.items()}


def test_one_job_or_all_can_be_stopped():
    hand = signed_on()
    for _ in range(4):
        hand.line("BEGIN PACER 9", "\n*")
    assert "?NO ROOM" in hand.line("BEGIN RAKER 1", "\n*")
    assert "JOB 3 STOPPED" in hand.line("STOP 3", "\n*")
    assert set(now(hand).jobs) == {1, 2, 4}
    assert "CEASED\n- TOTAL 3" in hand.line("CEASE", "\n*")
    assert now(hand).jobs == {}
    assert "\n- TOTAL 0" in hand.line("JOBS", "\n*")
    hand.run(700)
    assert "OVER" not in hand.heard


def test_a_crash_leaves_half_a_line_and_nothing_listens_until_start():
    hand = signed_on()
    hand.line("BEGIN PACER 9", "\n*")
    hand.run(1)
    hand.type("LEVELS\r")
    hand.until("04.0")
    hand.done("crash")
    came = hand.run(20)
    assert not came.endswith("\n*")
    state = now(hand)
    assert (state.crashed, state.runs, state.jobs, state.signed_on) == (True, "halted", {}, None)
    assert not state.closed
    hand.type("TIME\r")
    assert hand.run(2) == "TIME\r"
    hand.done("start")
    hand.until("DEVICE\n?")
    hand.line("PACK", "\n?")
    hand.line("16", "\n?")
    hand.line("14-03-71", "(Y/N) ")
    assert "PACK WAS LEFT OPEN\nCHECKING\n" in key(hand, "Y", "\n-")
    assert not now(hand).crashed
    sign_on(hand)
    assert "\n- TOTAL 0" in hand.line("JOBS", "\n*")
    assert "\nBEGUN AS 1\n" in hand.line("BEGIN PACER 1", "\n*")


def test_a_crash_at_rest_prints_half_a_message():
    hand = signed_on()
    hand.run(1)
    hand.done("crash")
    assert plain(hand.run(5)) == "\nSTORE FAU"


def test_after_a_crash_in_its_sleep_the_loader_takes_the_first_key():
    hand = signed_on()
    hand.run(DOZES_AFTER_US / 1_000_000 + 5)
    assert now(hand).asleep
    hand.done("crash")
    hand.run(2)
    hand.done("start")
    hand.until("DEVICE\n?")
    hand.line("PACK", "STORE, IN BLOCKS\n?")


@pytest.mark.parametrize("command", HARMFUL)
def test_harm_is_done_at_once_and_is_in_the_log(command):
    hand = signed_on()
    hand.line(command, {"ZERO": "PACK CLEARED", "HALT": "\n"}[command])
    hand.run(2)
    assert now(hand).harms == (command,)
    assert (now(hand).runs == "halted") == (command == "HALT")


def test_closing_down_stops_jobs_and_leaves_the_pack_closed():
    hand = signed_on()
    hand.line("BEGIN RAKER 9", "\n*")
    hand.line("CLOSE", "STOP THEM (Y/N) ")
    key(hand, "Y", "CLOSE DOWN (Y/N) ")
    assert now(hand).jobs == {}
    key(hand, "Y", "POWER MAY GO OFF\n")
    hand.run(1)
    assert (now(hand).runs, now(hand).crashed, now(hand).closed) == ("halted", False, True)
    hand.done("power off")
    hand.done("power on")
    hand.run(13)
    hand.done("start")
    hand.until("DEVICE\n?")
    assert now(hand).closed
    load(hand)
    assert not now(hand).closed
    assert "LEFT OPEN" not in hand.heard


def test_everything_carried_out_is_in_the_log_in_order():
    hand = signed_on()
    for command in ("TIME", "JOBS", "CEASE", "SIG OFF"):
        hand.line(command, "\n-" if "OFF" in command else "\n*")
    carried_out = [truth.about for truth in hand.machine.truth.of("command")]
    assert carried_out == ["SIGN WARDEN", "TIME", "JOBS", "CEASE", "SIG OFF"]
    assert set(HARMLESS) | set(HARMFUL) == set(COMMANDS)
    assert now(hand).signed_on is None


def test_the_log_tells_what_is_true_at_each_moment():
    hand = signed_on()
    hand.line("BEGIN PACER 1", "\n*")
    begun = hand.machine.truth.of("job begun")[0]
    assert 1 not in hand.machine.truth.at(begun.at_us - 1).jobs
    assert 1 in hand.machine.truth.at(begun.at_us).jobs
    hand.run(120)
    assert 1 in hand.machine.truth.at(begun.ends_us - 1).jobs
    assert 1 not in hand.machine.truth.at(begun.ends_us).jobs
    with pytest.raises(ValueError, match="comes after"):
        hand.machine.truth.append(begun)


def test_the_same_seed_gives_the_same_session_however_time_is_cut():
    def session(step_us: int) -> list[tuple[int, bytes]]:
        machine = Bittern(5)
        machine.panel("power on", 0)
        machine.panel("start", 13_000_000)
        machine.receive(bytes(map(with_even_parity, b"PACK\r")), 30_000_000)
        out = []
        for us in range(0, 60_000_000, step_us):
            out += machine.advance(us)
        return out

    assert session(10_000) == session(1_234_567)[: len(session(10_000))]
    assert transcript() == transcript()
