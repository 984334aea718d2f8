"""What of a person's typing is recorded: nothing that may be a secret, and always how many characters."""

from __future__ import annotations

import msgspec
import pytest

from exhibit.decisions.commands import Tell
from exhibit.decisions.watching import Watching
from exhibit.facts import kinds
from tests.decisions.heron import BOARD, TYPING, S, folder, machine, opened

ANY = folder()


class Terminal:
    """A person and the Heron, watched."""

    def __init__(self, watched=ANY) -> None:
        self.watching = Watching(watched, opened(watched.machine))
        self._now_us = S
        self.facts: list[kinds.TypedByHand] = []

    def prints(self, data: bytes) -> None:
        self._now_us += S
        for command in self.watching.received(data, self._now_us):
            assert isinstance(command, Tell) or command

    def types(self, data: bytes) -> None:
        for byte in data:
            self.facts += self.watching.typed_by_hand(bytes([byte]))

    @property
    def shown(self) -> bytes:
        """What was recorded, with an asterisk for each character that was withheld."""
        return b"".join(b"*" * one.count if one.secret else kinds.to_bytes(one.bytes) for one in self.facts)


@pytest.mark.parametrize(
    ("printed", "typed", "recorded"),
    [
        ([b"READY: "], [b"GO\r"], b"GO\r"),
        ([b"SURE (NO)? "], [b"YES\r"], b"YES\r"),
        ([b"SIGN WORD? "], [b"WREN\r"], b"****\r"),
        ([b"READY: ", b"SIGN ON\r\nSIGN WORD? "], [b"SIGN ON\r", b"WREN\r"], b"SIGN ON\r****\r"),
        ([b"READY: "], [b"SIGN ON\rWREN\r"], b"SIGN ON\r****\r"),
        ([b"READY: ", b"SIGN ON\r\n"], [b"SIGN ON\r", b"WREN\r"], b"SIGN ON\r****\r"),
        ([b"READY: ", b"M\r\nSIGN WORD? "], [b"M", b"WREN\r"], b"M****\r"),
        ([b""], [b"WREN\r"], b"****\r"),
        ([b"SOMETHING ELSE> "], [b"WREN\r"], b"****\r"),
        ([b"READY: ", b"\r\nREADY: "], [b"WR\x18", b"GO\r"], b"WR\x18GO\r"),
        ([b"READY: "], [b"\xc7\xcf\x8d"], b"\xc7\xcf\x8d"),
    ],
    ids=[
        "at a command prompt all is shown",
        "at a question too",
        "at the prompt for a secret only the end of the line",
        "one line after another",
        "a secret typed ahead of its prompt",
        "a secret typed between the echo and its prompt",
        "a secret after a single key that ended no line",
        "before anything was printed",
        "at a prompt that the folder doesn't know",
        "the cancel key ends a line",
        "with the eighth bit as it came",
    ],
)
def test_what_may_be_a_secret_is_withheld(printed, typed, recorded):
    at = Terminal()
    for number in range(max(len(printed), len(typed))):
        at.prints(b"".join(printed[number : number + 1]))
        at.types(b"".join(typed[number : number + 1]))
    assert at.shown == recorded
    assert {one.by for one in at.facts} == {"the person at the terminal"}


def test_it_makes_no_difference_how_the_bytes_came():
    together = Terminal()
    together.prints(b"READY: ")
    facts = together.watching.typed_by_hand(b"SIGN ON\rWREN\r")
    assert [(one.bytes, one.count, one.secret) for one in facts] == [
        ("SIGN ON\r", 8, False),
        ("", 4, True),
        ("\r", 1, False),
    ]


def test_keys_at_a_status_display_are_shown():
    at = Terminal(folder(machine=machine(displays=(BOARD,))))
    at.prints(b"\x1b[2J\x1b[1;1HHERON BOARD 10.00\x1b[3;1HLOAD 7\x1b[24;1H")
    at.types(b"q")
    assert at.shown == b"q"


def test_a_folder_without_secrets_withholds_nothing():
    prompts = tuple(prompt for prompt in ANY.machine.prompts if prompt.kind != "secret")
    at = Terminal(folder(machine=machine(prompts=prompts)))
    at.types(b"WREN\r")
    assert at.shown == b"WREN\r"


def test_half_a_line_is_known_to_the_recording_of_the_next_day():
    at = Terminal()
    assert at.watching.left_open("today") is None
    at.watching.note(kinds.Entry(2, S, kinds.TypedByHand(bytes="WIPE", count=4)))
    left = at.watching.left_open("today")
    assert (left.half_typed, left.closed, left.recording) == ("WIPE", True, "today")
    tomorrow = Terminal()
    tomorrow.watching.note(kinds.Entry(2, S, left))
    tomorrow.watching.note(kinds.Entry(3, S, kinds.TypedByHand(bytes=" ALL", count=4)))
    assert tomorrow.watching.left_open("tomorrow").half_typed == "WIPE ALL"


def test_output_that_was_missed_takes_back_what_was_showing():
    at = Terminal()
    at.watching.note(kinds.Entry(2, S, kinds.LineOpened(line="a line")))
    at.prints(b"READY: ")
    assert at.watching.console.prompt_at_end is not None
    at.watching.note(kinds.Entry(3, 2 * S, kinds.BytesMissed(received=9, typed=0, why="it was away")))
    assert at.watching.console.prompt_at_end is None


def test_typing_that_was_missed_is_told_to_the_recording_of_the_next_day():
    at = Terminal()
    at.watching.note(kinds.Entry(2, S, kinds.BytesMissed(received=3, typed=0, why="it was away")))
    assert at.watching.left_open("today") is None
    at.watching.note(kinds.Entry(3, S, kinds.BytesMissed(received=0, typed=1, why="it was away")))
    left = at.watching.left_open("today")
    assert left is not None
    assert left.may_lack


def test_a_key_that_ends_a_line_at_any_prompt_ends_one_here():
    at_desk = msgspec.structs.replace(TYPING, return_key=b"\n")
    at = Terminal(folder(machine=machine(typing_at={"desk": at_desk})))
    at.prints(b"DESK TERN: ")
    at.types(b"SIGN ON\nWREN\r")
    assert at.shown == b"SIGN ON\n****\r"
