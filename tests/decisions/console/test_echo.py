"""An echo is known in every way that machines give it, and told from whatever else comes."""

from __future__ import annotations

import pytest

from exhibit.decisions.console.outcomes import Keyed
from exhibit.decisions.display.wire import Wire, with_parity
from exhibit.facts.kinds import TypingConfirmed, TypingGarbled
from tests.decisions.feeds import in_every_feed
from tests.decisions.heron import CANCEL, ECHO_US, RETURN, SETTLE_US
from tests.decisions.typed import XOFF, XON, Typed

WINDOWS = pytest.mark.parametrize("window", [1, 4])
GALE = b"\r\n== GALE AT SEA ==\r\n"
EDGE = {"columns": 20}
PROMPT = "READY: "
LONG = "go on and on and on and on"
"""With the prompt, longer than one line of 20 columns, and shorter than two."""


def typed_whole(typed: Typed, command: str, echo) -> Typed:
    """Types all of a command; `echo` gives what comes back for the character of this number."""
    typed.begin(command)
    for number, character in enumerate(command.upper()):
        assert len(typed.sent) > number, typed.sent
        typed.prints(echo(number, character))
    return typed


def plain(number: int, character: str) -> bytes:
    return character.encode()


def returned(typed: Typed) -> bool:
    """Whether RETURN went out once the line was quiet."""
    assert typed.state == "checking", (typed.state, typed.told)
    typed.overdue()
    return typed.sent.endswith(RETURN)


# -- several characters on their way


@pytest.mark.parametrize("window", [2, 4, 8])
def test_as_many_characters_are_on_their_way_as_the_folder_says_and_no_more(window):
    typed = Typed(window=window).begin("go on and on")
    assert typed.sent == b"go on and on"[:window]
    typed.prints(b"G")
    assert typed.sent == b"go on and on"[: window + 1]
    typed.prints(b"O ")
    assert typed.sent == b"go on and on"[: window + 3]


def test_a_window_longer_than_the_command_types_it_whole_and_waits():
    typed = Typed(window=8).begin("go")
    assert typed.sent == b"go"
    typed.prints(b"G")
    assert (typed.sent, typed.state) == (b"go", "typing")
    typed.prints(b"O")
    assert returned(typed)


@pytest.mark.parametrize("window", range(1, 9))
def test_return_is_never_typed_before_all_is_confirmed_and_settled(window):
    typed = Typed(window=window).begin("begin sums")
    for byte in b"BEGIN SUMS":
        assert RETURN not in typed.sent
        typed.prints(bytes((byte,)))
    assert RETURN not in typed.sent
    assert typed.due_us == typed.now_us + SETTLE_US
    assert returned(typed)


def test_each_character_that_comes_back_gives_the_next_its_time():
    typed = Typed(window=4).begin("begin")
    typed.now_us = ECHO_US - 1
    typed.prints(b"B")
    assert typed.due_us == 2 * ECHO_US - 1


def test_what_came_back_wrong_with_several_on_their_way_is_typed_again_one_at_a_time():
    typed = Typed(window=4).begin("begin")
    typed.prints(b"BX")
    assert typed.sent == b"begi" + CANCEL
    typed.again()
    assert typed.sent == b"begi" + CANCEL + b"b"
    typed.prints(b"B")
    assert typed.sent == b"begi" + CANCEL + b"be"


@WINDOWS
def test_a_new_command_is_typed_with_the_whole_window_again(window):
    typed = Typed(window=window).begin("begin")
    typed.prints(b"X")
    typed.begin("begin")
    assert typed.sent == b"begin"[:window] + CANCEL + b"begin"[:window]


@WINDOWS
@pytest.mark.parametrize("lost", range(5))
def test_a_character_that_the_machine_never_got_is_found_out(window, lost):
    typed = Typed(window=window).begin("begin")
    got = 0
    for number in range(5):
        if number != lost and len(typed.sent) > number and typed.state == "typing":
            typed.prints(b"BEGIN"[number : number + 1])
            got += 1
    if typed.state == "typing":
        typed.overdue()
    assert typed.state == "cancelled"
    assert RETURN not in typed.sent


@WINDOWS
def test_nothing_is_typed_while_the_machine_holds_and_all_that_may_be_when_it_goes_on(window):
    typed = Typed(window=window).begin("begin")
    typed.prints(XOFF + b"BEGIN"[:window])
    assert typed.sent == b"begin"[:window]
    typed.prints(XON)
    assert typed.sent == b"begin"[: 2 * window]


# -- folded


@WINDOWS
def test_an_echo_in_capitals_is_that_of_small_letters(window):
    assert returned(typed_whole(Typed(window=window), "go on", plain))


@WINDOWS
@pytest.mark.parametrize("parity", ["even", "odd"])
def test_the_parity_bit_of_an_echo_doesnt_count(window, parity):
    typed = Typed(window=window)
    typed._wire = Wire("parity", parity=parity, flow_control=True)
    assert returned(typed_whole(typed, "go on", lambda _, c: bytes((with_parity(ord(c), parity),))))


@WINDOWS
def test_an_eighth_bit_that_is_always_set_doesnt_count(window):
    assert returned(typed_whole(Typed(window=window), "go on", lambda _, c: bytes((ord(c) | 0x80,))))


@WINDOWS
@pytest.mark.parametrize("fill", [b"\x00", b"\x00\x00\x00", b"\x7f", b"\x7f\x00"])
def test_fill_characters_in_the_echo_and_behind_return_dont_count(window, fill):
    typed = typed_whole(Typed(window=window), "go on", lambda _, c: c.encode() + fill)
    assert returned(typed)
    typed.prints(b"\r" + fill + b"\n" + fill)
    assert typed.state == "confirmed"


@WINDOWS
@pytest.mark.parametrize("sequence", [b"\x1b[0m", b"\x1b[1m", b"\x1b[?25l\x1b[?25h", b"\x1b(B", b"\x1b[K"])
def test_control_sequences_within_the_echo_dont_count(window, sequence):
    typed = typed_whole(Typed(window=window), "go on", lambda _, c: sequence + c.encode() + sequence)
    assert returned(typed)


@WINDOWS
def test_blanks_may_come_back_as_the_tab_that_moves_over_them(window):
    # READY: stands on 7 columns, GO on 2: the tab from column 9 leads to column 16.
    typed = Typed(window=8 if window > 1 else 1).begin("go" + 7 * " " + "on")
    typed.echoes(b"GO")
    typed.prints(b"\t")
    if window == 1:
        # One blank was typed: a tab stands for more than that.
        assert typed.state == "cancelled"
        return
    typed.echoes(b"ON")
    assert returned(typed)


@WINDOWS
def test_a_tab_that_moves_over_one_blank_is_its_echo(window):
    typed = Typed(window=window).begin("go on", prompt="READ: ")
    typed.echoes(b"GO")
    typed.prints(b"\t")  # from column 8 to 16
    assert typed.state == "cancelled"
    typed = Typed(window=window).begin("go on", prompt="READY")
    typed.echoes(b"GO")
    typed.prints(b"\t")  # from column 7 to 8
    typed.echoes(b"ON")
    assert returned(typed)


def test_a_machine_without_tabs_has_no_tab_in_its_echo():
    typed = Typed(display={"tab_columns": 0}).begin("go on", prompt="READY")
    typed.echoes(b"GO")
    typed.prints(b"\t")
    assert typed.state == "cancelled"


# -- at the right edge


BREAKS = {
    "RETURN and line feed": b"\r\n",
    "line feed first": b"\n\r",
    "a blank and RETURN": b" \r",
    "a blank and backspace": b" \b",
    "with fill": b"\r\x00\x00\n",
}


@WINDOWS
@pytest.mark.parametrize("line_break", BREAKS.values(), ids=BREAKS)
def test_an_echo_may_be_broken_at_the_right_edge(window, line_break):
    edge = 20 - len(PROMPT)
    assert LONG[edge] != " "
    typed = typed_whole(
        Typed(EDGE, window=window),
        LONG,
        lambda number, c: (line_break if number == edge else b"") + c.encode(),
    )
    assert returned(typed)


@WINDOWS
def test_a_line_that_was_broken_with_its_last_character_is_the_same(window):
    edge = 20 - len(PROMPT)
    broken = typed_whole(
        Typed(EDGE, window=window),
        LONG,
        lambda number, c: c.encode() + (b"\r\n" if number == edge - 1 else b""),
    )
    assert returned(broken)


@WINDOWS
@pytest.mark.parametrize("place", [0, 3, 12, 14])
def test_a_new_line_anywhere_else_is_no_break_of_the_line(window, place):
    typed = Typed(EDGE, window=window).begin(LONG)
    for number, character in enumerate(LONG.upper()[: place + 1]):
        typed.prints((b"\r\n" if number == place else b"") + character.encode())
    sent = typed.sent
    typed.overdue()
    assert typed.sent == sent + CANCEL
    assert typed.told[0].new_line


@WINDOWS
def test_a_blank_that_nobody_typed_is_only_borne_at_the_right_edge(window):
    typed = Typed(EDGE, window=window).begin(LONG)
    typed.prints(b"G ")
    assert typed.state == "cancelled"


@WINDOWS
def test_a_second_break_of_the_same_line_is_none(window):
    edge = 20 - len(PROMPT)
    typed = Typed(EDGE, window=window).begin(LONG)
    typed.echoes(LONG.upper()[:edge].encode())
    typed.prints(b"\r\n")
    typed.prints(LONG.upper()[edge : edge + 1].encode() + b"\r\n")
    typed.overdue()
    assert typed.state == "cancelled"


# -- rubbed out


RUBOUTS = {
    "an arrow": b"<",
    "backspace, blank, backspace": b"\b \b",
    "a struck-out copy between strokes": b"\\E\\",
    "a struck-out copy behind a stroke": b"/E",
    "an underline": b"_",
    "a hash": b"#",
}


@WINDOWS
@pytest.mark.parametrize("shown", RUBOUTS.values(), ids=RUBOUTS)
def test_what_machines_print_for_a_character_that_became_a_rubout_is_no_echo(window, shown):
    typed = Typed(window=window).begin("begin")
    typed.prints(b"BE")
    typed.prints(shown)
    assert typed.state == "cancelled"
    assert RETURN not in typed.sent


def test_a_bare_struck_out_copy_of_a_letter_that_the_command_doubles_looks_like_its_echo_but_not_again():
    # OO, the second became a rubout: the machine prints the O that it struck out, and keeps G alone.
    typed = Typed(show_again=b"\x0e").begin("goo")
    typed.echoes(b"GOO")
    typed.overdue()
    assert typed.sent == b"goo\x0e"
    typed.prints(b" AGAIN\r\nREADY: G")
    typed.overdue()
    assert typed.sent == b"goo\x0e" + CANCEL
    assert not typed.told[0].new_line


# -- late


@WINDOWS
@pytest.mark.parametrize("late_us", [200_000, 1_000_000, ECHO_US - 1])
def test_a_late_echo_is_waited_for_and_nothing_is_typed_twice(window, late_us):
    typed = Typed(window=window).begin("begin")
    for byte in b"BEGIN":
        typed.now_us += late_us
        assert typed.now_us < typed.due_us
        typed.prints(bytes((byte,)))
    assert returned(typed)
    assert typed.sent == b"begin\r"
    assert typed.told == []


# -- broadcasts


@WINDOWS
@pytest.mark.parametrize("place", range(6))
def test_a_broadcast_is_lifted_out_where_the_machine_goes_on_behind_it(window, place):
    typed = Typed(window=window).begin("begin")
    for number, byte in enumerate(b"BEGIN"):
        if number == place:
            typed.prints(GALE)
        typed.prints(bytes((byte,)))
    if place == 5:
        typed.prints(GALE)
    while typed.state != "awaiting new line":
        typed.overdue()
    assert typed.sent == b"begin\r"
    typed.prints(b"\r\n")
    assert typed.told == [TypingConfirmed(command="begin", attempts=1)]


@WINDOWS
@pytest.mark.parametrize("prompt", [b"", b"READY: "])
@pytest.mark.parametrize("place", range(6))
def test_a_broadcast_is_lifted_out_where_the_machine_prints_its_line_once_more(window, place, prompt):
    typed = Typed(window=window).begin("begin")
    typed.echoes(b"BEGIN"[:place])
    typed.prints(GALE)
    typed.prints(prompt + b"BEGIN"[:place])
    for byte in b"BEGIN"[place:]:
        while len(typed.sent) <= b"BEGIN".index(byte):
            typed.overdue()
        typed.prints(bytes((byte,)))
    while typed.state != "awaiting new line":
        typed.overdue()
    assert typed.sent == b"begin\r"
    assert typed.told == []


@WINDOWS
def test_while_it_isnt_clear_how_the_machine_goes_on_nothing_is_typed(window):
    typed = Typed(window=window).begin("begin")
    typed.echoes(b"BE")
    typed.prints(GALE)
    sent = typed.sent
    assert typed.due_us == typed.now_us + SETTLE_US
    typed.prints(b"B")
    assert typed.sent == sent
    assert typed.due_us == typed.now_us + SETTLE_US
    typed.prints(b"E")
    assert typed.due_us == typed.now_us + ECHO_US
    typed.prints(b"G")
    assert len(typed.sent) == len(sent) + 1 or sent == b"begin"


@WINDOWS
def test_a_line_that_is_printed_once_more_is_printed_whole_or_the_command_is_cancelled(window):
    typed = Typed(window=window).begin("begin")
    typed.echoes(b"BE")
    typed.prints(GALE + b"READY: B")
    typed.overdue()
    assert typed.state == "cancelled"


@WINDOWS
def test_where_both_ways_would_fit_what_came_the_command_is_cancelled(window):
    # The second O is on its way: it came, or the first was printed once more and the second was lost.
    typed = Typed(window=window).begin("oo")
    typed.prints(b"O" + GALE + b"O")
    typed.overdue()
    assert typed.state == "cancelled"
    assert RETURN not in typed.sent


@WINDOWS
@pytest.mark.parametrize("text", [b"WHO IS THERE?", b"JOB 3 BEGUN: TIDES"])
def test_what_is_no_broadcast_of_the_folders_is_cancelled_and_told_as_perhaps_taken(window, text):
    typed = Typed(window=window).begin("begin")
    typed.echoes(b"BE")
    typed.prints(b"\r\n" + text)
    sent = typed.sent
    typed.prints(b"\r\n")
    assert typed.sent == sent + CANCEL
    (told,) = typed.told
    assert isinstance(told, TypingGarbled)
    assert told.new_line
    assert told.came_back.startswith("BE\\r\\n")


@WINDOWS
def test_a_prompt_behind_half_a_command_shows_that_the_machine_threw_it_away_so_nothing_cancels_it(window):
    typed = Typed(window=window).begin("begin")
    typed.echoes(b"BE")
    typed.prints(b"\r\nREADY: ")
    sent = typed.sent
    typed.overdue()
    assert typed.sent == sent
    assert typed.state == "cancelled"
    (told,) = typed.told
    assert isinstance(told, TypingGarbled)
    assert (told.new_line, told.thrown_away) == (True, True)


@pytest.mark.parametrize("between", [GALE, GALE + b"READY: \r\n", b"\r\nWHO?\r\n", b"\r\nJOB 3 ENDED\r\n"])
def test_a_prompt_behind_anything_else_doesnt_show_that(between):
    typed = Typed().begin("begin")
    typed.echoes(b"BE")
    typed.prints(between + b"READY: ")
    if not typed.sent.endswith(CANCEL):
        typed.overdue()
    assert typed.sent.endswith(CANCEL)


def test_each_line_of_a_long_broadcast_has_its_time():
    typed = Typed().begin("go")
    typed.prints(b"\r\nSTORM WARNING FOR ALL\r\n")
    for _ in range(20):
        typed.now_us += ECHO_US - 1
        typed.prints(b"IT BLOWS\r\n")
        assert typed.due_us == typed.now_us + ECHO_US
    typed.prints(b"END OF WARNING\r\nG")
    assert typed.sent == b"go"


@WINDOWS
@pytest.mark.parametrize(("blank_lines", "state"), [(2, "typing"), (9, "cancelled")])
def test_a_few_blank_lines_may_stand_before_a_broadcast(window, blank_lines, state):
    typed = Typed(window=window).begin("begin")
    typed.prints(b"B" + blank_lines * b"\r\n" + GALE + b"E")
    assert typed.state == state


def test_a_broadcast_that_never_ends_is_cancelled():
    typed = Typed().begin("go")
    typed.prints(b"\r\nSTORM WARNING FOR ALL\r\nIT BLOWS\r\n")
    typed.overdue()
    assert typed.sent == b"g" + CANCEL


@WINDOWS
def test_two_broadcasts_behind_each_other_are_lifted_out(window):
    typed = Typed(window=window).begin("begin")
    typed.prints(b"B" + GALE + GALE + b"E" + GALE)
    assert typed.state == "typing"
    typed.echoes(b"GIN"[: len(typed.sent) - 2])
    assert typed.told == []


@WINDOWS
def test_a_broadcast_that_ends_with_line_feed_and_return_is_lifted_out(window):
    typed = Typed(window=window).begin("begin")
    typed.prints(b"B\n\r== GALE AT SEA ==\n\rE")
    assert typed.state == "typing"
    assert typed.told == []


@WINDOWS
@pytest.mark.parametrize("prompt", ["", "READY: "])
def test_a_return_at_the_beginning_of_the_echo_is_none_of_it(window, prompt):
    typed = Typed(window=window).begin("begin", prompt=prompt)
    typed.prints(b"\rB")
    typed.overdue()
    assert typed.state == "cancelled"


@WINDOWS
def test_a_broadcast_may_begin_just_at_the_right_edge(window):
    edge = 20 - len(PROMPT)
    typed = typed_whole(
        Typed(EDGE, window=window), LONG, lambda number, c: (GALE if number == edge else b"") + c.encode()
    )
    assert returned(typed)


@WINDOWS
@in_every_feed
@pytest.mark.parametrize("rest", [b"B", b"READY: BE", b"E", b"X", b"\r\n"])
def test_a_broadcast_means_the_same_however_it_is_cut(rest, window, feed):
    def outcome(cut):
        typed = Typed(window=window).begin("begin")
        typed.prints(b"B")
        for piece in cut(GALE + rest):
            typed.prints(piece)
        return typed.state, typed.sent

    assert outcome(feed) == outcome(lambda data: [data])


# -- a second look


LOOK = b"\x0e"


def looking(command="begin", **typing) -> Typed:
    typed = typed_whole(Typed(show_again=LOOK, **typing), command, plain)
    typed.overdue()
    assert typed.sent == command.encode() + LOOK
    assert typed.state == "looking"
    return typed


@WINDOWS
@pytest.mark.parametrize(
    "shown", [b" AGAIN\r\nREADY: BEGIN", b"^R\r\nBEGIN", b"\r\nREADY: BEGIN", b"\rREADY: BEGIN"]
)
def test_return_follows_when_the_line_was_shown_again_as_it_was_meant(shown, window):
    typed = looking(window=window)
    typed.echoes(shown)
    assert RETURN not in typed.sent
    assert typed.due_us == typed.now_us + SETTLE_US
    typed.overdue()
    assert typed.sent == b"begin" + LOOK + RETURN
    typed.prints(b"\r\n")
    assert typed.told == [TypingConfirmed(command="begin", attempts=1)]


@WINDOWS
@pytest.mark.parametrize(
    "shown",
    [
        b" AGAIN\r\nREADY: BEGAN",
        b" AGAIN\r\nREADY: BEGI",
        b" AGAIN\r\nREADY: BEGINN",
        b" AGAIN\r\nREADY: BEGIN AGAIN\r\nREADY: BEGIN",
        b" AGAIN\r\nREADY: ",
        b" AGAIN\r\nREADY: BE\r\nGIN",
        b" AGAIN\r\nREADY: BEGIN\a",
        b" AGAIN",
        b"X",
        b"\a",
        b"",
    ],
)
def test_a_line_that_is_shown_again_otherwise_or_not_at_all_is_cancelled_and_typed_again(shown, window):
    typed = looking(window=window)
    typed.echoes(shown)
    if typed.state == "looking":
        typed.overdue()
    assert typed.state == "cancelled"
    assert typed.sent == b"begin" + LOOK + CANCEL
    assert not typed.told[0].new_line
    typed.again()
    assert typed.sent == b"begin" + LOOK + CANCEL + b"b"


@pytest.mark.parametrize(
    "answer", [b"\r\nJOB 3 BEGUN\r\nREADY: ", b"\r\nREADY: ", b"\r\n", b"\r\nREAD THIS", b"JOB 3 IS BEGUN"]
)
def test_where_the_key_may_have_become_return_the_command_is_never_typed_again(answer):
    typed = looking()
    typed.echoes(answer)
    if typed.state == "looking":
        typed.overdue()
    assert typed.state == "failed"
    assert typed.keying.return_sent
    assert "may have taken" in typed.why
    assert typed.told[0].new_line
    assert typed.sent == b"begin" + LOOK + CANCEL


def test_a_line_shown_again_may_be_broken_at_the_right_edge():
    typed = typed_whole(Typed(EDGE, show_again=LOOK), LONG, plain)
    typed.overdue()
    whole = PROMPT + LONG.upper()
    typed.echoes(f" AGAIN\r\n{whole[:20]}\r\n{whole[20:]}".encode())
    typed.overdue()
    assert typed.sent == LONG.encode() + LOOK + RETURN


@pytest.mark.parametrize("command", ["", "go"])
def test_an_empty_command_and_a_secret_arent_looked_at(command):
    typed = Typed(show_again=LOOK).begin(command, secret=bool(command))
    while typed.state == "pacing":
        typed.overdue()
    assert LOOK not in typed.sent
    assert typed.sent.endswith(RETURN)


def test_without_an_echo_the_line_is_looked_at_all_the_same():
    typed = Typed(echo="none", show_again=LOOK).begin("go")
    while typed.state == "pacing":
        typed.overdue()
    assert typed.sent == b"go" + LOOK
    typed.echoes(b" AGAIN\r\nREADY: GO")
    typed.overdue()
    assert typed.sent == b"go" + LOOK + RETURN


def test_the_look_is_held_up_by_xoff_and_has_its_time_again_behind_xon():
    typed = looking()
    typed.prints(XOFF)
    assert typed.due_us is None
    assert typed.keying.overdue(typed.now_us) == Keyed(())
    typed.now_us += 10 * ECHO_US
    typed.prints(XON)
    assert typed.due_us == typed.now_us + ECHO_US


# -- without an echo, a machine that falls behind


def test_a_machine_that_asks_to_wait_is_given_more_time_after_each_character_up_to_eightfold():
    typed = Typed(echo="none", pause_after_us=30_000).begin("go on and on")
    pauses = []
    for _ in range(6):
        typed.prints(XOFF + XON)
        pauses.append(typed.due_us - typed.now_us)
        typed.overdue()
    assert pauses == [60_000, 120_000, 240_000, 240_000, 240_000, 240_000]
    again = typed
    again.give_up()
    again.begin("go")
    assert again.due_us - again.now_us == 240_000
