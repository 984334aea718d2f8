"""Nothing is sent that the machine didn't take as meant."""

from __future__ import annotations

import pytest

from exhibit.decisions.commands import SECRET_CHARACTERS
from exhibit.decisions.console.keying import MOST_ATTEMPTS
from exhibit.decisions.console.outcomes import Keyed
from exhibit.decisions.display.wire import Wire
from exhibit.facts.kinds import TypingConfirmed, TypingGarbled
from tests.decisions.feeds import in_every_feed
from tests.decisions.heron import CANCEL, CHAR_US, ECHO_US, RETURN, SECRET, SETTLE_US
from tests.decisions.typed import XOFF, XON, Typed

# -- a command, when all goes well


def test_one_character_at_a_time_each_after_the_echo_of_the_one_before():
    typed = Typed().begin("go")
    assert typed.sent == b"g"
    typed.prints(b"G")
    assert typed.sent == b"go"


def test_return_waits_until_nothing_comes_behind_the_last_echo():
    typed = Typed().begin("go")
    typed.echoes(b"GO")
    assert typed.sent == b"go"
    assert typed.due_us == typed.now_us + SETTLE_US
    typed.overdue()
    assert typed.sent == b"go\r"


@pytest.mark.parametrize("answer", [b"\r\n", b"\n", b"\n\r", b"\r\r\n", b"\x1b[?2004l\r\n"])
def test_return_is_taken_when_the_machine_starts_a_new_line(answer):
    typed = Typed().whole()
    typed.prints(answer)
    assert typed.state == "confirmed"
    assert typed.told == [TypingConfirmed(command="go", attempts=1)]
    assert typed.due_us is None


def test_an_empty_command_is_return_alone():
    typed = Typed().begin("")
    assert typed.sent == RETURN
    typed.prints(b"\r\n")
    assert typed.state == "confirmed"


def test_a_late_echo_is_waited_for_and_nothing_is_typed_twice():
    typed = Typed().begin("go")
    typed.now_us = ECHO_US - 1
    typed.prints(b"G")
    assert typed.sent == b"go"
    assert typed.due_us == 2 * ECHO_US - 1


def test_a_machine_that_keeps_small_letters_must_echo_small_letters():
    typed = Typed(folds_to="as typed").begin("go")
    typed.prints(b"g")
    assert typed.sent == b"go"
    typed.prints(b"O")
    assert typed.sent == b"go" + CANCEL


@pytest.mark.parametrize("nothing", [b"\x00", b"\x1b[1m", b"\x7f"])
def test_what_shows_nothing_is_no_echo_and_no_fault(nothing):
    typed = Typed().begin("go")
    typed.prints(nothing)
    assert (typed.sent, typed.state) == (b"g", "typing")
    typed.prints(nothing + b"G")
    assert typed.sent == b"go"


# -- a command that came back wrong


WRONG = {
    "another character": b"X",
    "doubled": b"GG",
    "with something before it": b"XG",
    "with a bell": b"\x07",
    "rubbed out": b"G\b",
    "with a mark for a damaged byte": b"G~",
}


@pytest.mark.parametrize("echo", WRONG.values(), ids=WRONG)
def test_what_comes_back_wrong_is_cancelled_and_return_is_never_sent(echo):
    typed = Typed().begin("go")
    typed.prints(echo)
    assert typed.state == "cancelled"
    assert typed.sent in (b"g" + CANCEL, b"go" + CANCEL)
    assert RETURN not in typed.sent
    assert isinstance(typed.told[0], TypingGarbled)


def test_a_doubled_character_is_noticed_also_where_the_command_doubles_it():
    typed = Typed().begin("ooze")
    typed.echoes(b"OOO")
    assert typed.sent == b"ooz" + CANCEL
    at_once = Typed().begin("ooze")
    at_once.prints(b"OO")
    assert at_once.sent == b"o" + CANCEL


def test_a_doubled_last_character_is_noticed_before_return():
    typed = Typed().begin("go")
    typed.echoes(b"GO")
    typed.prints(b"O")
    assert typed.sent == b"go" + CANCEL
    assert typed.told == [TypingGarbled(command="go", expected="GO", came_back="GOO", attempt=1)]


def test_an_echo_that_never_comes_is_cancelled():
    typed = Typed().begin("go")
    typed.overdue()
    assert typed.now_us == ECHO_US
    assert typed.sent == b"g" + CANCEL
    assert typed.told == [TypingGarbled(command="go", expected="G", came_back="", attempt=1)]


def test_after_the_cancel_key_nothing_is_typed_until_the_prompt_stands_again():
    typed = Typed().begin("go")
    typed.prints(b"X")
    typed.prints(b"G CANCELLED\r\nREADY: ")
    assert typed.sent == b"g" + CANCEL
    assert typed.due_us is None
    typed.again()
    assert typed.sent == b"g" + CANCEL + b"g"


def test_a_command_is_typed_again_at_most_twice():
    typed = Typed().begin("go")
    for attempt in range(1, MOST_ATTEMPTS):
        typed.prints(b"X")
        assert typed.state == "cancelled", attempt
        typed.again()
    typed.prints(b"X")
    assert typed.state == "failed"
    assert MOST_ATTEMPTS == 3
    assert typed.sent == (b"g" + CANCEL) * 3
    assert [fact.attempt for fact in typed.told] == [1, 2, 3]
    assert "3 times" in typed.why


def test_the_attempts_are_counted_anew_for_each_command():
    typed = Typed().begin("go")
    typed.prints(b"X")
    typed.again()
    typed.prints(b"X")
    typed.begin("on")
    typed.prints(b"X")
    assert typed.state == "cancelled"
    assert typed.told[-1].attempt == 1


def test_what_comes_between_return_and_the_new_line_was_more_than_was_typed():
    typed = Typed().whole()
    typed.prints(b"O")
    assert typed.state == "failed"
    assert typed.sent == b"go\r" + CANCEL
    garbled = TypingGarbled(command="go", expected="GO", came_back="GOO", attempt=1, returned=True)
    assert typed.told == [garbled]
    assert "more than was typed" in typed.why


def test_a_return_without_an_answer_is_followed_by_the_cancel_key_alone():
    typed = Typed().whole()
    typed.overdue()
    assert typed.state == "failed"
    assert typed.sent == b"go\r" + CANCEL
    assert "new line" in typed.why


def test_a_deadline_that_passes_when_nothing_waits_for_it_does_nothing():
    typed = Typed()
    assert typed.keying.overdue(0) == Keyed(())
    typed.whole().prints(b"\r\n")
    assert typed.keying.overdue(typed.now_us) == Keyed(())


# -- a machine without an echo


def test_without_an_echo_characters_are_paced_and_return_awaits_the_new_line():
    typed = Typed(echo="none", pause_after_us=30_000).begin("go")
    assert (typed.sent, typed.due_us) == (b"g", 30_000)
    typed.overdue()
    assert (typed.sent, typed.due_us) == (b"go", 60_000)
    typed.overdue()
    assert (typed.sent, typed.due_us) == (b"go\r", 60_000 + ECHO_US)
    typed.prints(b"\r\n")
    assert typed.told == [TypingConfirmed(command="go", attempts=1)]


# -- secrets


def secret_begun() -> Typed:
    return Typed().begin(SECRET, secret=True)


def secret_typed() -> Typed:
    typed = secret_begun()
    while typed.state == "pacing":
        typed.overdue()
    return typed


def test_a_secrets_first_character_goes_alone_and_waits_as_long_as_an_echo_may_take():
    typed = secret_begun()
    assert (typed.sent, typed.due_us) == (b"*", ECHO_US)
    typed.overdue()
    assert typed.sent == b"*" * len(SECRET)


@pytest.mark.parametrize("secret", ["W", "WR", SECRET, "X" * SECRET_CHARACTERS, "X" * 40])
def test_neither_the_order_nor_the_times_of_what_is_decided_tell_how_long_a_secret_is(secret):
    typed = Typed().begin(secret, secret=True)
    assert (typed.sent, typed.due_us) == (b"*", ECHO_US)
    typed.overdue()
    assert (typed.sent, typed.due_us) == (b"*" * len(secret), ECHO_US + SECRET_CHARACTERS * CHAR_US)
    typed.overdue()
    assert typed.sent == b"*" * len(secret) + RETURN


def test_xoff_holds_up_the_rest_of_a_secret_and_its_return_and_drops_nothing():
    typed = secret_begun()
    typed.overdue()
    due_us = typed.due_us
    typed.prints(XOFF)
    assert typed.due_us == due_us
    typed.overdue()
    assert typed.sent == b"*" * len(SECRET)
    typed.prints(XON)
    typed.overdue()
    assert typed.sent == b"*" * len(SECRET) + RETURN


def test_a_secret_is_typed_whole_and_told_by_no_fact():
    typed = secret_typed()
    assert typed.sent == b"*" * len(SECRET) + RETURN
    typed.prints(b"\r\n")
    assert typed.told == [TypingConfirmed(command="", attempts=1)]


def test_until_the_new_line_after_a_secret_nothing_is_at_rest():
    typed = secret_typed()
    assert not typed.keying.at_rest
    typed.prints(b"\r")
    assert not typed.keying.at_rest
    typed.prints(b"\n")
    assert typed.keying.at_rest


def test_a_new_line_while_the_secret_is_being_typed_is_a_broadcasts():
    typed = secret_begun()
    typed.prints(b"\r\n")
    assert typed.state == "pacing"


@pytest.mark.parametrize("when", [secret_begun, secret_typed])
def test_a_secret_that_comes_back_is_cancelled_at_once(when):
    typed = when()
    sent = typed.sent
    typed.withheld()
    assert typed.state == "failed"
    assert typed.sent == sent + CANCEL
    assert typed.due_us is None
    assert "secret" in typed.why
    assert SECRET not in typed.why


@pytest.mark.parametrize("end", [Typed.withheld, Typed.give_up])
def test_also_when_it_was_given_up_nothing_is_at_rest_until_the_new_line(end):
    typed = secret_begun()
    end(typed)
    assert not typed.keying.at_rest
    typed.prints(b"\r\n")
    assert typed.keying.at_rest


def test_what_is_withheld_later_is_no_echo():
    typed = secret_begun()
    typed.give_up()
    sent = typed.sent
    typed.withheld()
    assert (typed.state, typed.sent) == ("idle", sent)


def test_a_command_is_no_secret():
    typed = Typed().begin("go")
    typed.withheld()
    assert typed.state == "typing"


# -- giving up


@pytest.mark.parametrize("echoed", [b"", b"G", b"GO"])
def test_a_half_typed_command_is_cancelled_when_it_is_given_up(echoed):
    typed = Typed().begin("go")
    typed.echoes(echoed)
    sent = typed.sent
    assert typed.keying.unfinished
    typed.give_up()
    assert typed.sent == sent + CANCEL
    assert typed.due_us is None
    assert not typed.keying.unfinished


def test_an_unanswered_return_is_cancelled_when_it_is_given_up():
    typed = Typed().whole()
    typed.give_up()
    assert typed.sent == b"go\r" + CANCEL


def test_giving_up_twice_cancels_once():
    typed = Typed().begin("go")
    typed.give_up()
    typed.give_up()
    assert typed.sent == b"g" + CANCEL


@pytest.mark.parametrize("end", [b"\r\n", b"X"])
def test_there_is_nothing_to_cancel_when_the_command_was_taken_or_cancelled(end):
    typed = Typed().whole()
    typed.prints(end)
    sent = typed.sent
    typed.give_up()
    assert typed.sent == sent


def test_after_a_loss_of_the_line_nothing_is_typed_not_even_the_cancel_key():
    typed = Typed().begin("go")
    typed.line_lost()
    typed.prints(b"G")
    assert (typed.sent, typed.due_us, typed.state) == (b"g", None, "idle")


# -- the machine holds what is typed


def test_nothing_is_typed_while_the_machine_holds_it():
    typed = Typed().begin("go")
    typed.prints(XOFF + b"G")
    assert typed.sent == b"g"
    typed.prints(XON)
    assert typed.sent == b"go"


def test_no_deadline_runs_while_the_machine_holds_what_is_typed():
    typed = Typed().begin("go")
    typed.prints(XOFF)
    assert typed.due_us is None
    typed.now_us = 10 * ECHO_US
    typed.prints(XON)
    assert typed.due_us == 11 * ECHO_US
    assert typed.sent == b"g"


def test_a_deadline_that_passes_while_the_machine_holds_is_no_deadline():
    typed = Typed().begin("go")
    typed.keying.take(Wire("drop", flow_control=True).feed(XOFF)[0], 0)
    assert typed.keying.overdue(ECHO_US) == Keyed(())
    assert typed.state == "typing"


def test_return_is_held_too():
    typed = Typed().begin("go")
    typed.echoes(b"GO")
    typed.prints(XOFF)
    assert typed.due_us is None
    typed.prints(XON)
    typed.overdue()
    assert typed.sent == b"go\r"


def test_a_paced_machine_that_holds_is_not_asked_again_and_again():
    typed = Typed(echo="none").begin("go")
    typed.prints(XOFF)
    assert typed.keying.overdue(typed.now_us) == Keyed(())
    assert typed.due_us is None


def test_a_held_command_of_which_nothing_went_out_needs_no_cancel_key():
    typed = Typed()
    typed.prints(XOFF)
    typed.begin("go")
    assert (typed.sent, typed.due_us) == (b"", None)
    assert not typed.keying.unfinished
    typed.give_up()
    typed.prints(XON)
    assert typed.sent == b""


@pytest.mark.parametrize("wrong", [Typed.give_up, lambda typed: typed.prints(b"X")])
def test_the_cancel_key_is_held_too_and_goes_out_when_it_may(wrong):
    typed = Typed().begin("go")
    typed.prints(XOFF)
    wrong(typed)
    typed.give_up()
    assert typed.sent == b"g"
    typed.prints(XON)
    assert typed.sent == b"g" + CANCEL


def test_no_command_is_begun_before_a_held_cancel_key_has_gone_out():
    typed = Typed().begin("go")
    typed.prints(XOFF)
    typed.give_up()
    typed.begin("on")
    assert typed.state == "failed"
    assert "cancelled" in typed.why
    typed.prints(XON)
    assert typed.sent == b"g" + CANCEL


def test_a_key_that_is_pressed_while_the_machine_holds_never_goes_out():
    """It was meant for what stood there then."""
    typed = Typed()
    typed.prints(XOFF)
    typed.press(b" ")
    typed.prints(XON)
    assert typed.sent == b""


def test_a_command_is_not_typed_anew_before_its_held_cancel_key_has_gone_out():
    typed = Typed().begin("go")
    typed.prints(XOFF)
    typed.prints(b"X")
    assert typed.state == "cancelled"
    typed.again()
    typed.prints(XON)
    assert typed.sent == b"g" + CANCEL


def test_at_rest_not_even_a_held_cancel_key_goes_out():
    typed = Typed().begin("go")
    typed.prints(XOFF)
    typed.give_up()
    typed._carry_out(typed.keying.rest())
    typed.prints(XON)
    assert typed.sent == b"g"


def test_a_hold_doesnt_outlast_the_line():
    typed = Typed()
    typed.prints(XOFF)
    typed.line_lost()
    typed.begin("go")
    assert typed.sent == b"g"


def test_an_xon_that_nobody_waited_for_does_nothing():
    typed = Typed().begin("go")
    due_us = typed.due_us
    typed.now_us = 5
    typed.prints(XON)
    assert (typed.sent, typed.due_us) == (b"g", due_us)


# -- feeds


@in_every_feed
@pytest.mark.parametrize("echo", [b"G\r\n", b"GX", b"\x07", b"G\x13\x11O"])
def test_an_echo_means_the_same_however_it_is_cut(echo, feed):
    def outcome(cut):
        typed = Typed().begin("go")
        for piece in cut(echo + b"TRAILING"):
            typed.prints(piece)
        return typed.state, RETURN in typed.sent, CANCEL in typed.sent

    assert outcome(feed) == outcome(lambda data: [data])
