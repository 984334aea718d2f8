"""A known secret that a machine shows is withheld, whatever its letters and whatever happens meanwhile."""

from __future__ import annotations

import msgspec
import pytest

from exhibit.decisions.display.characters import codes_of
from exhibit.decisions.display.wire import Text, Wire
from exhibit.decisions.withholding.withholding import MOST_HELD, Part, Passed, Withheld, Withholding
from exhibit.facts import kinds
from exhibit.facts.display import Display
from tests.decisions.heron import SECRET, S, machine
from tests.decisions.planted_secrets import four_in_a_row
from tests.decisions.withholding.test_secrets_by_hand import NATIONAL


def shown(parts: list[Part]) -> bytes:
    return bytes(part.byte for part in parts if isinstance(part, Passed))


@pytest.mark.parametrize("every", range(1, len(SECRET)))
def test_when_something_else_happens_in_the_middle_of_a_secret_its_rest_is_still_withheld(every: int):
    withholding = Withholding(machine(), (SECRET,))
    parts: list[Part] = []
    for number, byte in enumerate(SECRET.encode(), start=1):
        parts += withholding.take(byte, number * S)
        if number % every == 0:
            parts += withholding.settle_all()
    parts += withholding.settle_all()
    assert four_in_a_row(SECRET, shown(parts).decode()) == []
    assert any(isinstance(part, Withheld) for part in parts)


@pytest.mark.parametrize(("characters", "word"), NATIONAL)
@pytest.mark.parametrize("change", [str, str.lower])
def test_a_secret_with_letters_of_its_country_is_withheld(characters, word, change):
    display = msgspec.structs.replace(Display(), characters=characters)
    eighth_bit = "drop" if characters == "german" else "data"
    withholding = Withholding(machine(display=display, eighth_bit=eighth_bit), (word,))
    parts: list[Part] = []
    for number, byte in enumerate(b"IT IS " + codes_of(change(word), characters) + b"\r\n"):
        if withholding.plain[byte] and not withholding.engaged:
            parts.append(Passed(byte, number))
        else:
            parts += withholding.take(byte, number)
    assert shown(parts) == b"IT IS ****\r\n"


@pytest.mark.parametrize(("characters", "word"), NATIONAL)
def test_such_a_secret_is_known_as_the_one_that_is_being_typed(characters, word):
    display = msgspec.structs.replace(Display(), characters=characters)
    withholding = Withholding(machine(display=display, eighth_bit="data"), (word,))
    sent = codes_of(word, characters)
    withholding.typed(sent, secret=True)
    parts = [part for byte in sent for part in withholding.take(byte, 1)]
    assert [part.was_typed for part in parts if isinstance(part, Withheld)] == [True]


TITLES = {"OSC": "\x1b]0;title\x07", "OSC, ended by ST": "\x1b]0;title\x1b\\", "DCS": "\x1bPdevice\x1b\\"}


@pytest.mark.parametrize("title", TITLES.values(), ids=TITLES)
@pytest.mark.parametrize(("before", "after"), [("", ""), ("\x1b]0;", ""), ("", "\x1b]0;")])
def test_a_secret_with_title_strings_in_it_is_withheld_and_what_follows_is_shown(title, before, after):
    sent = f"{before}{title.join(SECRET)}{after}\x07\r\nREADY: "
    withholding = Withholding(machine(), (SECRET,))
    parts = [part for byte in sent.encode() for part in withholding.take(byte, 1)] + withholding.overdue()
    items = Wire("drop").feed(shown(parts))
    text = "".join(item.text for item in items if isinstance(item, Text))
    assert four_in_a_row(SECRET, text) == []
    assert any(isinstance(part, Withheld) for part in parts)
    assert text.endswith("READY: ")


@pytest.mark.parametrize("end", ["\x07", "\x1b\\", "\x18"])
def test_a_string_that_ends_within_a_secret_ends_on_the_console_too(end):
    withholding = Withholding(machine(), (SECRET,))
    sent = f"\x1b]0;{SECRET[:4]}{end}{SECRET[4:]}\r\nREADY: ".encode()
    parts = [part for byte in sent for part in withholding.take(byte, 1)] + withholding.overdue()
    assert Wire("drop").feed(shown(parts))[-1] == Text("READY: ")


def all_of(withholding: Withholding, sent: bytes) -> bytes:
    parts = [part for byte in sent for part in withholding.take(byte, 1)]
    return shown([*parts, *withholding.overdue()])


def test_what_stood_on_a_secret_prompts_line_before_a_key_was_pressed_there_is_withheld():
    withholding = Withholding(machine(), (SECRET,))
    withholding.note(kinds.LandmarkReached(landmark="word", line="SIGN WORD? ", fields={}))
    parts = [part for byte in f"x{SECRET}".encode() for part in withholding.take(byte, 1)]
    withholding.typed(b"\r", secret=False)
    assert four_in_a_row(SECRET, shown([*parts, *withholding.overdue()]).decode()) == []


def test_a_character_with_eight_bits_ends_a_sequence_so_what_follows_it_is_text():
    withholding = Withholding(machine(eighth_bit="data"), (SECRET,))
    assert SECRET.encode() not in all_of(withholding, b"\x1b[1\xaa" + SECRET.encode())


def test_a_backspace_at_a_lines_edge_takes_nothing_back_from_a_secret():
    withholding = Withholding(machine(), (SECRET,))
    sent = f"{SECRET[:-1]}\r\n\b{SECRET[-1]}"
    assert SECRET[:-1].encode() not in all_of(withholding, sent.encode())


def test_a_backspace_may_have_taken_back_nothing_of_a_secret():
    """Whoever reads the text without control codes reads the secret, whatever a terminal showed."""
    for place in range(2, len(SECRET)):
        sent = f"{SECRET[:place]}\b{SECRET[place:]}"
        assert SECRET[place:].encode() not in all_of(Withholding(machine(), (SECRET,)), sent.encode())


@pytest.mark.parametrize("again", ["W\b", "WR\b\b", "WRENQ\b\b\b\b\b", "WRE\x1b[m", "WR\x00\b"])
def test_whatever_a_machine_repeats_little_is_held_back_and_little_is_followed(again):
    """Each of these once made one more place to follow, for as long as the machine went on."""
    withholding = Withholding(machine(), ("WRENQUAY",))
    for byte in (again * 3000).encode():
        withholding.take(byte, 1)
        assert len(withholding._held) <= MOST_HELD
    assert len(withholding._search.candidates) < 20
