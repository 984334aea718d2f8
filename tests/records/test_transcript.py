"""`exhibit text` prints the console of a recording as a person would read it, with what was typed by whom."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from exhibit.commands.cli import main
from exhibit.facts import kinds
from exhibit.facts.display import Display
from exhibit.records.transcript import Transcript, transcript
from exhibit.streams.line_chain import Damaged
from tests.decisions.heron import S, machine, opened
from tests.records.index.written import received as printed
from tests.records.index.written import write

SAMPLE = Path(__file__).resolve().parents[2] / "recordings" / "whimbrel-one-round.exhibit"


def received(data: bytes, first_us: int) -> kinds.BytesReceived:
    return kinds.BytesReceived(bytes=kinds.to_text(data), first_us=first_us)


def typed(text: str, **more) -> kinds.BytesTyped:
    given = {"count": len(text), "by": "the person at the terminal", **more}
    return kinds.BytesTyped(bytes=text, **given)


def lines_of(*facts, display=None, damaged_after=None) -> list[str]:
    """Facts, each with the second at which it was recorded; the recording was opened at 09:00."""
    described = machine(display=display or Display())
    entries = [kinds.Entry(1, 0, opened(described))]
    entries += [kinds.Entry(number, round(at_s * S), fact) for number, (at_s, fact) in enumerate(facts, 2)]
    if damaged_after is not None:
        entries.insert(damaged_after, Damaged(offset_bytes=1, length_bytes=2, why="changed"))
    return list(Transcript().lines(entries))[3:]


def test_a_line_has_the_time_of_its_first_character():
    assert lines_of((1, received(b"SUM", S)), (4, received(b" IS 5\r\n", 3 * S))) == [
        "09:00:01.000    SUM IS 5"
    ]


def test_what_was_typed_stands_between_the_lines_in_the_order_of_the_facts_with_who_typed_it():
    step = kinds.StepStarted(script="round", step="add", tidying=False)
    assert lines_of(
        (1, received(b"READY:", S)),
        (2, step),
        (3, typed("A")),
        (3.1, received(b"A", 3 * S)),
        (3.2, typed("D\r")),
        (3.3, received(b"D\r\n", 3 * S)),
    ) == [
        "09:00:01.000    READY:AD",
        "09:00:03.000 >  AD [return]                                       by round.add",
    ]


def test_within_a_second_a_line_that_came_before_a_key_stands_before_it():
    shown = lines_of(
        (1.1, typed("A\x0e")),
        (1.3, received(b"READY: A", round(1.3 * S))),
        (1.5, typed("\r")),
        (1.7, received(b"\r\nDONE\r\n", round(1.7 * S))),
    )
    assert [line[9:24] for line in shown] == [
        "100 >  A [contr",
        "300    READY: A",
        "500 >   [return",
        "700    DONE",
    ]


def test_a_line_keeps_the_time_of_the_clock_as_it_was_before_it_was_set():
    stepped = kinds.ClockStepped(by_us=3_600_000_000, wall="2026-11-25T10:00:03+00:00")
    shown = lines_of(
        (1, received(b"READY:", S)), (2, typed("A\r")), (3, stepped), (4, received(b"\r\n", 4 * S))
    )
    assert [line[:12] for line in shown if "READY" in line or ">" in line] == ["09:00:01.000", "09:00:02.000"]


def test_rows_don_t_wait_without_end_for_a_line_that_is_never_over():
    entries = [kinds.Entry(1, 0, opened()), kinds.Entry(2, S, received(b"READY:", S))]
    unread = iter([*entries, *(kinds.Entry(n, n * S, typed("A\r")) for n in range(3, 5000))])
    next(row for row in Transcript().rows(unread) if row.kind == "typed")
    assert sum(1 for _ in unread) > 4000


def test_a_stranger_s_recording_may_say_that_nothing_was_typed():
    (line,) = lines_of((1, typed("")), (2, typed("A\r")))
    assert "A [return]" in line


def test_a_secret_is_named_but_neither_shown_nor_counted():
    facts = [(1 + n / 10, typed("", count=1, secret=True)) for n in range(8)]
    (line,) = lines_of(*facts, (2, typed("\r")))
    assert line.split("  by ")[0].rstrip() == "09:00:01.000 >  [a secret] [return]"


def test_keys_that_print_nothing_are_named():
    shown = "".join(lines_of((1, typed("\x18")), (2, typed("\x7f")), (3, typed("\x1b"))))
    assert "[control X]" in shown
    assert "[rubout]" in shown
    assert "[escape]" in shown


def test_a_painted_screen_is_shown_as_a_whole_and_again_only_when_something_is_new():
    paint = received(b"\x1b[2J\x1b[1;1HHERON BOARD\x1b[3;1HLOAD 7", S)
    shown = lines_of((1, paint), (3, kinds.Heartbeat(wall="2026-11-25T09:00:03+00:00")), (5, typed("q")))
    assert [line[16:] for line in shown] == [
        "The screen:",
        "| HERON BOARD",
        "|",
        "| LOAD 7",
        "q                                                 by the person at the terminal",
    ]


def test_printing_goes_on_behind_a_painted_screen():
    paint = received(b"\x1b[2J\x1b[1;1HBOARD", S)
    shown = lines_of((1, paint), (1.2, received(b"\r\nREADY:\r\n", S)))
    assert [line[16:] for line in shown] == ["The screen:", "| BOARD", "", "READY:"]


def test_what_is_missing_is_said():
    shown = "\n".join(
        lines_of(
            (1, received(b"HALF A LI", S)),
            (2, kinds.LineLost(why="unplugged.")),
            (3, kinds.BytesWithheld(count=3, why="a secret")),
            damaged_after=2,
        )
    )
    assert "HALF A LI" in shown
    assert "can't be read here" in shown
    assert "lost: unplugged." in shown
    assert "withheld" in shown
    assert "3" not in shown.split("withheld")[1]


def test_what_the_program_did_or_noticed_is_said():
    done = kinds.ScriptEnded(script="round", outcome="done", tidy=True, why="")
    stopped = kinds.ScriptEnded(script="round", outcome="stopped", tidy=True, why="a docent said stop")
    assert lines_of(
        (1, received(b"SU", S)),
        (2, kinds.OtherProgramSeen(port="/dev/x", programs=["ping (process 7)"])),
        (3, kinds.StepOverdue(script="round", step="add", waited_for=["x"], within_us=90 * S, last_lines=[])),
        (4, stopped),
        (5, kinds.SessionFailed(why="the line was lost", last_lines=[])),
        (6, received(b"M\r\n", 6 * S)),
        (7, done),
    ) == [
        "09:00:01.000    SUM",
        "09:00:02.000 -  Another program had /dev/x open: ping (process 7).",
        "09:00:03.000 -  The step round.add was not done within 90 s.",
        "09:00:04.000 -  The script round was stopped: a docent said stop",
        "09:00:05.000 -  The scripts stopped, and a person was asked to look: the line was lost",
    ]


def test_letters_are_those_of_the_console():
    (line,) = lines_of((1, received(b"GEL\\SCHT\r\n", S)), display=Display(characters="german"))
    assert line.endswith("GELÖSCHT")


@pytest.mark.parametrize("wall", ["2026-11-25T09:00:00\x1b[2J"])
def test_nothing_from_a_recording_moves_the_terminals_cursor(wall, tmp_path, monkeypatch):
    entries = [kinds.Entry(1, 0, opened()), kinds.Entry(2, S, kinds.LineLost(why=f"lost {wall}"))]
    monkeypatch.setattr("exhibit.records.transcript.read", lambda path: iter(entries))
    done = CliRunner().invoke(main, ["text", str(SAMPLE)])
    assert done.exit_code == 0
    assert "\x1b" not in done.stdout
    assert "lost 2026" in done.stdout


def test_the_sample_is_printed_with_its_board_and_its_typing():
    done = CliRunner().invoke(main, ["text", str(SAMPLE)])
    text = done.stdout_bytes.decode("utf-8")
    assert done.exit_code == 0
    assert "The machine was simulated." in text
    assert "TIDEBOOK BOARD" in text
    assert "[a secret] [return]" in text
    assert "by round.begin-shuttle" in text


def test_where_a_return_alone_ends_a_line_each_line_is_printed():
    display = Display(line_end="return")
    shown = lines_of((1, received(b"ONE\rTWO\r", S)), display=display)
    assert [line[16:] for line in shown] == ["ONE", "TWO"]


def test_a_line_at_which_the_machine_fell_silent_stands_before_what_happened_then(tmp_path):
    path = write(
        tmp_path / "a.exhibit",
        printed("24 OF 24", 10),
        printed("\x13", 60),
        (60, kinds.TypingHeld()),
        (100, kinds.MachineSilent(heard_us=10_000_000, due_us=20_000_000, due="step")),
        (200, kinds.SessionFailed(why="nothing came", last_lines=[])),
    )
    lines = [*transcript(path)]
    places = [
        next(n for n, line in enumerate(lines) if said in line)
        for said in ("24 OF 24", "XOFF", "Nothing came", "The scripts stopped")
    ]
    assert places == sorted(places)
