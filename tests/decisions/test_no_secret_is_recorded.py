"""A known secret is withheld wherever it is received, and what is typed at a secret prompt too."""

from __future__ import annotations

import msgspec
import pytest

from exhibit.decisions.commands import Type
from exhibit.decisions.machine.description import Prompt
from exhibit.decisions.machine.pattern import Pattern
from exhibit.decisions.page.views import View
from exhibit.decisions.session.programme import Wanted
from exhibit.decisions.withholding.secret_search import Search
from exhibit.decisions.withholding.sequences import Kind
from exhibit.decisions.withholding.withholding import Withholding
from exhibit.facts import kinds
from tests.decisions.again import check_decided_again
from tests.decisions.deciders import decider_for
from tests.decisions.driver import Driver
from tests.decisions.heron import (
    AT_REST,
    MACHINE,
    S,
    command,
    folder,
    machine,
    opened,
    pause,
    script,
    secret,
    wait,
)
from tests.decisions.planted_secrets import (
    WAYS,
    WHERE,
    dice_for,
    feeds,
    four_in_a_row,
    random_secret,
    with_even_parity,
)
from tests.sampling import how_sampled

ONE = Wanted(before=(), rounds=1, after=())
WAITS = folder(script("round", wait("end", "ended", within_us=5 * S), tidy_up=(pause("look", 1_000),)))


def watched(word, where=WAITS, wanted=ONE, name="word") -> Driver:
    begun = opened(where.machine)
    decider = decider_for(where, begun, wanted, {name: word})
    return Driver(decider, opened_as=begun, withholding=Withholding(where.machine, (word,)))


def everything_shown(driver: Driver) -> list[str]:
    """Each fact as it is recorded, what was received, and each row of the page."""
    driver.note(kinds.RecordingClosed(why="enough"))  # which writes the last piece
    view = View()
    shown = ["".join(fact.bytes for fact in driver.facts(kinds.BytesReceived))]
    shown[0] = shown[0] + "".join(chr(ord(c) & 0x7F) for c in shown[0])
    for entry in driver.entries:
        shown.append(msgspec.json.encode(entry.fact).decode())
        view.apply(entry)
        rows = view.text_rows()
        shown += [*rows, "".join(rows)]
    return shown


def assert_nowhere(word: str, driver: Driver) -> None:
    for text in everything_shown(driver):
        assert four_in_a_row(word, text) == [], (word, text, how_sampled())


@pytest.mark.parametrize("where", WHERE)
@pytest.mark.parametrize("way", WAYS)
def test_no_four_characters_of_a_secret_are_shown_wherever_it_comes(way, where):
    dice = dice_for(f"{way} {where}")
    word = random_secret(dice)
    before, after = WHERE[where]
    data = f"READY: {before}{WAYS[way](word)}{after}".encode()
    for wanted in (ONE, None):
        for pieces in feeds(data, dice):
            driver = watched(word, wanted=wanted)
            driver.open_line()
            for piece in pieces:
                driver.prints(piece)
            driver.run(within_us=30 * S)
            assert_nowhere(word, driver)
            assert driver.facts(kinds.SecretWithheld)
            check_decided_again(WAITS, wanted, driver.entries)


@pytest.mark.parametrize("eighth_bit", ["parity", "drop", "data"])
def test_parity_bits_hide_no_secret(eighth_bit):
    dice = dice_for(eighth_bit)
    word = random_secret(dice)
    described = machine(eighth_bit=eighth_bit, line=msgspec.structs.replace(MACHINE.line, parity="even"))
    data = with_even_parity(f"\r\nYOUR WORD IS {word}\r\n".encode())
    for pieces in feeds(data, dice):
        driver = watched(word, folder(script("round", pause("look")), machine=described), None)
        driver.open_line()
        for piece in pieces:
            driver.prints(piece)
        driver.run()
        assert_nowhere(word, driver)
        assert driver.decider.parity_faults() == 0 or eighth_bit != "parity"


@pytest.mark.parametrize("pause_us", [1_000, 50_000, S, 1_900_000])
def test_a_secret_that_somebody_types_by_hand_elsewhere_is_withheld_at_any_speed(pause_us):
    word = random_secret(dice_for(f"by hand {pause_us}"))
    driver = watched(word, wanted=None)
    driver.open_line()
    driver.stands(b"READY: ")
    for character in word.encode():
        driver.prints(bytes((character,)))
        driver.run(within_us=pause_us)
        driver.now_us += pause_us
    driver.prints(b"\r\n")
    driver.run()
    assert_nowhere(word, driver)


@pytest.mark.parametrize("length", range(1, 9))
def test_a_prompt_that_ends_like_a_secrets_beginning_settles(length):
    word = "HALLO?BCDEF"[:9]
    asks = Prompt(name="asks", pattern=Pattern(f"NOW {word[:length]}"), kind="command")
    described = machine(prompts=(*MACHINE.prompts, asks))
    driver = watched(word, folder(script("round", pause("look")), machine=described), None)
    driver.open_line()
    driver.prints(f"\r\nNOW {word[:length]}".encode())
    driver.run(within_us=3 * S)
    assert [fact.landmark for fact in driver.facts(kinds.LandmarkReached)] == ["asks"]


def test_text_that_only_begins_like_a_secret_is_let_through_whole_and_in_order():
    driver = watched("HARBOUR", wanted=None)
    driver.open_line()
    text = "HARBOU HARB\r\nHAHARBO\x1b[7mHARBOXR HARBO\b\b\b H"
    driver.prints(text.encode())
    driver.run()
    driver.note(kinds.RecordingClosed(why="enough"))
    assert "".join(fact.bytes for fact in driver.facts(kinds.BytesReceived)) == text
    assert driver.facts(kinds.SecretWithheld) == []


@pytest.mark.parametrize("way", WAYS)
def test_the_recording_does_not_tell_how_long_the_secret_was(way):
    recorded = set()
    for word in ("BCDEF", "BCDEFGHJKLMN"):
        driver = watched(word, wanted=None)
        driver.open_line()
        driver.prints(b"\r\nYOUR WORD IS ")
        driver.prints(WAYS[way](word).encode())
        driver.run(within_us=3 * S)
        driver.now_us = 4 * S
        driver.note(kinds.RecordingClosed(why="enough"))
        facts = [(entry.at_us, entry.fact) for entry in driver.entries]
        recorded.add(msgspec.json.encode(facts))
    assert len(recorded) == 1


@pytest.mark.parametrize(
    ("shown", "let_through"),
    [
        ("HAR\r\nBOUR", "****\r\n"),
        ("\x1b[7mHA\x1b[1mR\x1b[mBO\x1b[1mUR\x1b[m", "\x1b[7m****\x1b[m\x1b[1m\x1b[m"),
        ("\x1b[5;1HHAR\x1b[5;4HBOUR\x1b[6;1H", "\x1b[5;1H****\x1b[6;1H"),
    ],
)
def test_what_acts_on_the_screen_is_let_through_though_a_secret_is_withheld(shown, let_through):
    driver = watched("HARBOUR", wanted=None)
    driver.open_line()
    driver.prints(shown.encode())
    driver.run(within_us=S)
    driver.note(kinds.RecordingClosed(why="enough"))
    assert "".join(fact.bytes for fact in driver.facts(kinds.BytesReceived)) == let_through


# -- what is typed by hand at a secret prompt


@pytest.mark.parametrize("echo", ["known", "unknown", "asterisks"])
@pytest.mark.parametrize("wanted", [ONE, None])
@pytest.mark.parametrize("pause_us", [0, 300_000])
def test_what_is_printed_on_the_line_of_a_secret_prompt_is_withheld(echo, wanted, pause_us):
    dice = dice_for("at the prompt")
    known, unknown = random_secret(dice), random_secret(dice)
    shown = {"known": known, "unknown": unknown, "asterisks": "*" * 9}[echo]
    driver = watched(known, wanted=wanted)
    driver.open_line()
    driver.stands(b"\r\nSIGN WORD? ")
    for character in shown.encode():
        driver.prints(bytes((character,)))
        driver.run(within_us=pause_us)
        driver.now_us += pause_us
    driver.prints(b"\r\nREADY: ")
    driver.run()
    if echo != "asterisks":
        assert_nowhere(shown, driver)
    assert driver.facts(kinds.SecretWithheld) == [kinds.SecretWithheld(was_typed=False)]
    received = "".join(fact.bytes for fact in driver.facts(kinds.BytesReceived))
    assert received == "\r\nSIGN WORD? ****\r\nREADY: "
    check_decided_again(WAITS, wanted, driver.entries)


def test_a_broadcast_on_the_line_of_a_secret_prompt_is_recorded_as_one():
    driver = watched("HARBOUR", wanted=None)
    driver.open_line()
    driver.stands(b"\r\nSIGN WORD? ")
    driver.prints(b"\r\n== GALE AT SEA ==\r\nSIGN WORD? ")
    driver.run()
    assert [fact.text for fact in driver.facts(kinds.InterruptionSeen)] == ["== GALE AT SEA =="]
    assert driver.facts(kinds.SecretWithheld) == []


# -- while a script types the secret


SIGNS = folder(script("round", secret("sign")))


def signing(word: str) -> Driver:
    driver = watched(word, SIGNS)
    driver.open_line()
    driver.stands(b"SIGN WORD? ")
    return driver


@pytest.mark.parametrize("word", ["HARBOUR", "HA", "=HARBOUR"])
@pytest.mark.parametrize("parts", [1, 2])
def test_a_broadcast_while_a_secret_is_typed_is_recorded_and_the_step_goes_on(word, parts):
    driver = signing(word)
    if parts == 2:
        driver.passes("echo")
    driver.prints(b"\r\n== HALF A GALE AT SEA ==\r\nSIGN WORD? ")
    driver.run(until=lambda: driver.typed.endswith(b"\r"))
    driver.prints(b"\r\nDESK TERN: ")
    driver.run()
    assert [fact.text for fact in driver.facts(kinds.InterruptionSeen)] == ["== HALF A GALE AT SEA =="]
    assert driver.over == "done"
    assert driver.facts(kinds.SecretWithheld) == []


@pytest.mark.parametrize("word", ["HARBOUR", "HA", "H"])
@pytest.mark.parametrize(
    "after", [b"", b"\r\n== GALE AT SEA ==\r\nSIGN WORD? ", b"\r\n== GALE AT SEA ==\r\n"]
)
def test_the_machine_showed_the_secret_only_if_the_letters_are_its_letters(word, after):
    for echo, over in ((word[:1].lower(), "failed"), ("*", "done"), ("#", "done")):
        driver = signing(word)
        driver.prints(after)
        if echo in "*#" and after.endswith(b"=\r\n"):
            continue  # anything but an echo can follow a broadcast
        driver.prints(echo.encode())
        driver.run(until=lambda driver=driver: driver.over is not None or driver.typed.endswith(b"\r"))
        driver.prints(b"\r\nDESK TERN: ")
        driver.run()
        assert driver.over == over
        assert driver.facts(kinds.SecretWithheld) == [kinds.SecretWithheld(was_typed=over == "failed")]


def test_a_broadcast_can_begin_on_the_prompts_line():
    driver = signing("HARBOUR")
    driver.prints(b"== GALE AT SEA ==\r\nSIGN WORD? ")
    driver.run(until=lambda: driver.typed.endswith(b"\r"))
    assert [fact.text for fact in driver.facts(kinds.InterruptionSeen)] == ["== GALE AT SEA =="]
    assert driver.facts(kinds.SecretWithheld) == []


def test_a_broadcast_that_is_coming_when_the_rest_of_a_secret_is_typed_stays_whole():
    driver = signing("HARBOUR")
    driver.prints(b"\r\n== GALE")
    driver.passes("echo")
    driver.prints(b" AT SEA ==\r\nSIGN WORD? ")
    driver.run(until=lambda: driver.typed.endswith(b"\r"))
    assert [fact.text for fact in driver.facts(kinds.InterruptionSeen)] == ["== GALE AT SEA =="]
    assert driver.facts(kinds.SecretWithheld) == []


def test_an_echo_that_comes_late_is_withheld_and_named_as_what_it_is():
    word = random_secret(dice_for("late"))
    driver = signing(word)
    driver.passes("echo")
    driver.prints(word.encode())
    driver.run()
    assert driver.over == "failed"
    assert driver.facts(kinds.SecretWithheld) == [kinds.SecretWithheld(was_typed=True)]
    assert_nowhere(word, driver)


def test_a_recording_of_a_typed_secret_is_the_same_for_every_secret():
    recorded = set()
    for word in ("HA", "HARBOUR", "HARBOURMASTER"):
        driver = signing(word)
        driver.run(until=lambda driver=driver: driver.typed.endswith(b"\r"))
        driver.prints(b"\r\nDESK TERN: ")
        driver.run()
        assert driver.over == "done"
        recorded.add(msgspec.json.encode([(entry.at_us, entry.fact) for entry in driver.entries]))
        check_decided_again(SIGNS, ONE, driver.entries)
    assert len(recorded) == 1


# -- what is recorded of the console by other facts


def test_the_last_lines_of_a_late_step_hold_no_secret():
    word = random_secret(dice_for("late lines"))
    driver = watched(word)
    driver.open_line()
    driver.prints(f"\r\nBEFORE {word.lower()}\r\nNOW {word}".encode())
    driver.run()
    assert driver.facts(kinds.StepOverdue)[0].last_lines[-2:] == ["BEFORE ****", "NOW ****"]
    assert_nowhere(word, driver)


def test_an_echo_that_holds_a_secret_is_recorded_without_it():
    word = random_secret(dice_for("echo"))
    where = folder(script("round", command("go", "go on", "ended"), tidy_up=(pause("look", 1_000),)))
    driver = watched(word, where)
    driver.open_line()
    driver.stands(b"READY: ")
    driver.prints(b"G" + word.encode())
    driver.run()
    garbled = driver.facts(kinds.TypingGarbled)[0]
    assert (garbled.command, garbled.came_back) == ("go on", "G*")
    assert_nowhere(word, driver)


def test_a_person_who_is_asked_is_shown_no_secret():
    word = random_secret(dice_for("asked"))
    where = msgspec.structs.replace(WAITS, way_home=AT_REST)
    driver = watched(word, where)
    driver.open_line()
    driver.prints(f"\r\nWHAT IS {word}".encode())
    driver.run()
    assert "WHAT IS ****" in [row.rstrip() for row in driver.facts(kinds.PersonAsked)[0].rows]
    assert_nowhere(word, driver)


def test_no_command_or_search_names_a_secret_when_it_is_printed_for_debugging():
    search = Search(("HARBOUR",))
    search.take(Kind.TEXT, "H", 1)
    typed = Type(data=b"HARBOUR", by="script round", secret=True)
    assert [four_in_a_row("HARBOUR", repr(shown)) for shown in (typed, search.candidates)] == [[], []]
