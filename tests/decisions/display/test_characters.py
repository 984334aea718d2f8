"""Each code is shown as the character that the console prints for it, and typed characters as their codes.

The national versions of ISO/IEC 646 are compared with the tables of the GNU C library (iconv), the sets of
eight bits with Python's codecs.
"""

import subprocess
from typing import get_args

import msgspec
import pytest

from exhibit.decisions.display.characters import (
    EIGHT_BITS,
    NATIONAL,
    SUBSTITUTE_MARK,
    codes_of,
    is_printed,
    is_typed,
)
from exhibit.decisions.display.wire import Control, Csi, Item, Text, Wire
from exhibit.decisions.machine.description import LinePattern
from exhibit.decisions.machine.pattern import Pattern
from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from exhibit.facts.display import CharacterSet, Display
from tests.conftest import Needs
from tests.decisions.driver import Driver
from tests.decisions.heron import command, machine, opened
from tests.decisions.one_round import one_round

PRINTABLE = bytes(range(0x20, 0x7F))
ICONV = {
    "british": "ISO646-GB",
    "danish": "ISO646-DK",
    "french": "ISO646-FR",
    "german": "ISO646-DE",
    "hungarian": "ISO646-HU",
    "italian": "ISO646-IT",
    "norwegian": "ISO646-NO",
    "portuguese": "ISO646-PT",
    "spanish": "ISO646-ES",
    "swedish": "ISO646-SE",
}


def text_of(items: list[Item]) -> str:
    return "".join(item.text for item in items if isinstance(item, Text))


def shown(data: bytes, characters: CharacterSet) -> str:
    eighth = "data" if characters in EIGHT_BITS else "drop"
    whole = text_of(Wire(eighth, characters=characters).feed(data))
    wire = Wire(eighth, characters=characters)
    assert "".join(text_of(wire.feed(bytes((byte,)))) for byte in data) == whole
    return whole


def test_every_set_that_can_be_named_is_ascii_a_national_one_or_one_of_eight_bits():
    assert set(get_args(CharacterSet)) == {"ascii", *NATIONAL, *EIGHT_BITS}
    assert set(ICONV) == set(NATIONAL)


@pytest.mark.parametrize("name", sorted(NATIONAL))
def test_a_national_set_is_that_of_the_c_library(name, needs: Needs):
    iconv = needs("iconv")
    converted = subprocess.run(
        [iconv, "-f", ICONV[name], "-t", "UTF-8"], input=PRINTABLE, capture_output=True, check=True
    )
    assert shown(PRINTABLE, name) == converted.stdout.decode("utf-8")


@pytest.mark.parametrize("name", sorted(EIGHT_BITS))
def test_a_set_of_eight_bits_is_that_of_pythons_codec(name):
    for byte in range(0xA1 if name == "latin-1" else 0x80, 0x100 if name != "utf-8" else 0x80):
        character = bytes((byte,)).decode(EIGHT_BITS[name])
        if character not in "\xa0\xad":
            assert shown(bytes((byte,)), name) == character
    assert shown(PRINTABLE, name) == PRINTABLE.decode("ascii")


def test_control_sequences_are_the_same_in_every_set():
    for name in get_args(CharacterSet):
        wire = Wire("data", characters=name)
        assert wire.feed(b"\x1b[2;3H\r\n") == [Csi("H", (2, 3)), Control(13), Control(10)]


def test_a_utf_8_character_is_shown_once_it_is_complete():
    wire = Wire("data", characters="utf-8")
    assert wire.feed(b"L\xc3") == [Text("L")]
    resumed = Wire("data", characters="utf-8")
    resumed.restore(msgspec.json.decode(msgspec.json.encode(wire.snapshot())))
    for one in (wire, resumed):
        assert one.feed(b"\xb6SCHEN") == [Text("öSCHEN")]
        assert one.substituted == 0


@pytest.mark.parametrize("characters", sorted(EIGHT_BITS))
def test_a_filler_beside_a_letter_of_eight_bits_vanishes(characters):
    letter = "\u00e4".encode(EIGHT_BITS[characters])
    assert shown(letter + b"\x7f\0" + letter, characters) == "\u00e4\u00e4"


@pytest.mark.parametrize(
    ("data", "mark"),
    [
        (b"\xff", "malformed"),
        ("表".encode(), "two cells wide"),
        ("\u0301".encode(), "without a cell of its own"),
        (b"\xc2\x9b", "a control code (ECMA-48 s.5.3)"),
    ],
)
def test_what_would_not_take_one_cell_becomes_one_mark(data, mark):
    wire = Wire("data", characters="utf-8")
    assert text_of(wire.feed(b"a" + data + b"b")) == f"a{SUBSTITUTE_MARK}b", mark
    assert wire.substituted == 1


@pytest.mark.parametrize("characters", get_args(CharacterSet))
def test_a_control_code_is_no_character_so_no_command_can_hold_one(characters):
    assert not [code for code in (*range(32), 0x7F) if is_typed(chr(code), characters)]


def test_a_console_prints_and_types_only_what_its_set_has():
    assert is_printed("Ä", "german")
    assert not is_printed("[", "german")
    assert not is_printed("Å", "german")
    assert is_typed("Ä", "german")
    assert is_printed("Ä", "latin-1")
    assert not is_typed("Ä", "latin-1")
    assert not is_printed("Ä", "ascii")
    assert codes_of("LÖSCHE [", "german") == b"L\\SCHE ["


GERMAN = machine(
    lines=(LinePattern(name="gone", pattern=Pattern("{n: number} GELÖSCHT")),),
    display=Display(characters="german"),
)


def test_a_command_of_a_german_console_is_typed_echoed_and_answered_in_its_letters():
    driver = Driver(
        one_round(command("wipe", "lösche 3", "gone"), described=GERMAN), opened_as=opened(GERMAN)
    )
    driver.open_line()
    driver.stands(b"READY: ")
    for byte in b"L\\SCHE 3":
        driver.prints(bytes((byte,)))
    assert driver.typed == b"l|sche 3"
    driver.passes("echo")
    driver.prints(b"\r\n3 GEL\\SCHT\r\n")
    assert [fact.line for fact in driver.facts(kinds.PatternSeen)] == ["3 GELÖSCHT"]
    assert [fact.command for fact in driver.facts(kinds.TypingConfirmed)] == ["lösche 3"]


def received(seq: int, data: bytes) -> kinds.Entry:
    return kinds.Entry(seq, seq, kinds.BytesReceived(bytes=kinds.to_text(data), first_us=seq))


@pytest.mark.parametrize(
    ("characters", "data"),
    [("german", b"GEL\\SCHT"), ("latin-1", b"GEL\xd6SCHT"), ("utf-8", "GELÖSCHT".encode())],
)
def test_the_page_and_its_grounds_show_the_same_letters(characters, data):
    described = machine(display=Display(characters=characters), eighth_bit="data")
    view = View()
    view.apply(kinds.Entry(1, 0, opened(described)))
    view.apply(received(2, b"\x1b[1m" + data + b"\r\n"))
    assert view.text_rows()[0] == "GELÖSCHT"
    assert view.snapshot()["grounds"]["last"][0]["what"] == "GELÖSCHT"
    resumed = View()
    resumed.restore(msgspec.json.decode(msgspec.json.encode(view.snapshot())))
    resumed.apply(received(3, data))
    assert resumed.snapshot()["grounds"]["last"][-1]["what"] == "GELÖSCHT"
