"""What a screen shows. Clauses are those of ECMA-48, 5th ed.

On the vectors under AGREED three independent terminals were found to agree (@xterm/headless 6.0.0,
tmux 3.3a, libvterm 0.1.4).
"""

import pytest

from exhibit.decisions.display import controls as screen_controls
from exhibit.decisions.display.rendition import Run, Style, style_names
from exhibit.decisions.display.screen import LINE_DRAWING, Screen
from exhibit.decisions.display.wire import Control, Csi, Escape, FlowGo, FlowStop, Text, Wire
from exhibit.facts.display import FormFeed
from tests.decisions.display.oracles.feeds import feeds, shown_after

HOME = "\x1b[H"


def shows(stream: str, rows: int = 24, columns: int = 80, **settings: bool | int) -> list[str]:
    """The rows after the stream, without the empty ones at the end."""
    screen = Screen(rows, columns, **settings)  # type: ignore[arg-type]
    screen.apply(Wire("drop").feed(stream.encode()))
    text = screen.text_rows()
    while text and not text[-1]:
        text.pop()
    return text


def row_after(stream: str, row: int) -> str:
    return shown_after([stream.encode()]).text()[row - 1]


AGREED = {
    "inserted blanks shift the rest": ("\x1b[2J\x1b[5;10HABCDEF\x1b[5;12H\x1b[2@", 5, " " * 9 + "AB  CDEF"),
    "deleted places close the gap": ("\x1b[7;1H123456789\x1b[7;3H\x1b[3P", 7, "126789"),
    "erasing to the cursor takes its place too": ("\x1b[20;1Habcdefghij\x1b[20;5H\x1b[1K", 20, "     fghij"),
    "erasing from the cursor takes its place too": ("\x1b[21;1Habcdefghij\x1b[21;5H\x1b[K", 21, "abcd"),
    "a full row has not wrapped yet": ("A" * 80 + "\rZ", 1, "Z" + "A" * 79),
    "one character more wraps": ("A" * 81, 2, "A"),
    "tabs go to every eighth column": ("\tA\tB", 1, " " * 8 + "A" + " " * 7 + "B"),
    "place 0;0 is home": ("\x1b[5;5H\x1b[0;0HX", 1, "X"),
    "a place beyond is the last corner": ("\x1b[99;99HX", 24, " " * 79 + "X"),
    "a cancelled sequence lets the next character print": ("\x1b[2\x18X", 1, "X"),
    "line feed keeps the column": ("abc\nX", 2, "   X"),
    "delete is a filler": ("a\x7fb", 1, "ab"),
    "erasing the display leaves the cursor": ("abc\x1b[2JX", 1, "   X"),
}


@pytest.mark.parametrize("claim", AGREED)
def test_agreed_vectors_however_they_arrive(claim: str) -> None:
    stream, row, expected = AGREED[claim]
    for pieces in feeds(stream.encode()).values():
        assert shown_after(pieces).text()[row - 1] == expected


FOUND = {
    # what random streams fed to pyte 0.8.2 and to @xterm/headless once found, beside test_screen_reasons
    "reverse index above the top margin goes up, not into the region (8.3.104)": (
        "\x1b[3;5r\x1b[2;1H\x1bMX",
        ["X"],
    ),
    "a character is repeated (8.3.103)": ("ab\x1b[3bc", ["abbbbc"]),
    "rows deleted and inserted go to line home (8.3.32, 8.3.67)": ("abc\x1b[LX\x1b[2;3H\x1b[MY", ["X", "Y"]),
    "rows scroll up and down on demand (8.3.147, 8.3.113)": (
        "a\r\nb\r\nc\x1b[2S\x1b[T",
        ["", "c"],
    ),
    "line feed after a full row does not wrap twice": (
        "A" * 80 + "\nX",
        ["A" * 80, " " * 79 + "X"],
    ),
    "plain figures stay figures among line drawing characters": ("\x1b(0qxh0+,-.\x1b(Bq", ["─│␤0+,-.q"]),
    "tabs forward and back (8.3.10, 8.3.7)": ("\x1b[3IA\x1b[2ZB", [" " * 16 + "B" + " " * 7 + "A"]),
    "a tab back from a full row goes before its last place, though that is a stop": (
        "\x1b[1;80H\x1bHA\x1b[ZB",
        [" " * 72 + "B" + " " * 6 + "A"],
    ),
    "a mark of colour is not taken for blinking (8.3.117)": ("\x1b[38;5;4mA", ["A"]),
}


@pytest.mark.parametrize("claim", FOUND)
def test_what_random_streams_found_stays_right(claim: str) -> None:
    stream, expected = FOUND[claim]
    assert shows(stream) == expected


def test_the_line_drawing_characters_that_patterns_may_hold_are_those_that_are_shown() -> None:
    codes = "".join(map(chr, range(0x60, 0x7F)))
    assert shows(f"\x1b(0{codes}") == [LINE_DRAWING]


def test_at_the_right_edge_a_screen_that_does_not_wrap_overprints_the_last_place() -> None:
    assert shows("abcdefgh", 3, 5, wrap=False) == ["abcdh"]
    assert shows("abcdefgh\x1bcabcdefgh", 3, 5, wrap=False) == ["abcdh"]


def test_tab_stops_are_as_far_apart_as_the_display_says() -> None:
    assert shows("\tA", tab_columns=4) == ["    A"]
    assert shows("\tA", 3, 10, tab_columns=0) == [" " * 9 + "A"]


@pytest.mark.parametrize(
    ("form_feed", "expected"),
    [("line feed", ["ab", "  c"]), ("new sheet", ["c"]), ("ignore", ["abc"])],
)
def test_form_feed_does_what_the_display_says(form_feed: FormFeed, expected: list[str]) -> None:
    screen = Screen(3, 10, form_feed=form_feed)
    screen.apply(Wire("drop").feed(b"ab\fc"))
    assert [row for row in screen.text_rows() if row] == expected


def test_styles_are_kept_in_runs_and_plain_blanks_at_the_end_are_not() -> None:
    screen = Screen(2, 20)
    screen.apply(Wire("drop").feed(b"a\x1b[1mb\x1b[4mc\x1b[22md\x1b[0m  \r\n\x1b[7m \x1b[m   "))
    bold, under = int(Style.BOLD), int(Style.UNDERLINE)
    first, second = screen.rows()
    assert first == (Run("a", 0), Run("b", bold), Run("c", bold | under), Run("d", under))
    assert second == (Run(" ", int(Style.REVERSE)),)
    assert style_names(bold | under) == ["bold", "underline"]


def test_an_erased_place_is_plain() -> None:
    screen = Screen(2, 10)
    screen.apply(Wire("drop").feed(b"\x1b[7mabc\r\x1b[K\x1b[3X\x1b[2@x"))
    assert screen.rows()[0] == (Run("x", int(Style.REVERSE)),)


def test_changed_rows_are_told_once_and_the_others_stay_the_same_objects() -> None:
    screen = Screen(4, 10)
    assert screen.take_dirty() == {0, 1, 2, 3}
    screen.apply(Wire("drop").feed(b"one\r\ntwo\r\nthree"))
    before = screen.rows()
    assert screen.take_dirty() == {0, 1, 2}
    screen.apply(Wire("drop").feed(b"\x1b[2;2HX"))
    assert screen.take_dirty() == {1}
    assert screen.take_dirty() == set()
    after = screen.rows()
    assert [old is new for old, new in zip(before, after, strict=True)] == [True, False, True, True]


@pytest.mark.parametrize("final", sorted(screen_controls.SEQUENCES))
def test_every_sequence_tells_of_the_rows_that_it_changed(final: str) -> None:
    """With 0 to 3 as parameter, from the middle of a screen full of letters, with and without margins."""
    filled = "".join(f"\x1b[{row + 1};1H{chr(65 + row) * 10}" for row in range(6))
    for param in range(4):
        for margins in ("", "\x1b[2;5r"):
            sequence = f"\x1b[?{param}{final[1:]}" if final[0] == "?" else f"\x1b[{param}{final}"
            screen = Screen(6, 10)
            screen.apply(Wire("drop").feed(f"{filled}{margins}\x1b[3;4HZ".encode()))
            before = screen.text_rows()
            screen.take_dirty()
            screen.apply(Wire("drop").feed(sequence.encode()))
            after = screen.text_rows()
            changed = {number for number in range(6) if before[number] != after[number]}
            assert changed <= screen.take_dirty(), sequence


def test_queries_are_known_and_change_nothing() -> None:
    screen = Screen(24, 80)
    before = screen.snapshot()
    screen.apply(Wire("drop").feed(b"\x1b[c\x1b[5n\x1b[6n\x05\x1b[>c"))
    assert screen.snapshot() == before
    assert screen.unknown_sequences == 0


def test_bells_are_counted_and_shown_nowhere() -> None:
    screen = Screen(2, 10)
    screen.apply(Wire("drop").feed(b"a\ab\a"))
    assert screen.bells == 2
    assert screen.text_rows() == ["ab", ""]


@pytest.mark.parametrize(
    "stream", ["\x1b[5W", "\x1b[?5h", "\x1b[7J", "\x1b[9g", "\x1b[1;2T", "\x1bZ", "\x1b#3", "\x1b[$~"]
)
def test_a_sequence_without_a_meaning_here_is_counted_and_changes_nothing(stream: str) -> None:
    screen = Screen(2, 10)
    screen.apply(Wire("drop").feed(f"ab{stream}c".encode()))
    assert screen.unknown_sequences == 1
    assert screen.text_rows() == ["abc", ""]


@pytest.mark.parametrize(
    "stream", ["\x1b=", "\x1b[?1h\x1b[?2004h", "\x1b]0;title\a", "\x1b[2 q", "\x1b[?25l", "\x1b[31;44m"]
)
def test_a_known_sequence_without_effect_on_what_is_shown_is_not_counted(stream: str) -> None:
    screen = Screen(2, 10)
    screen.apply(Wire("drop").feed(f"ab{stream}c".encode()))
    assert screen.unknown_sequences == 0
    assert screen.text_rows() == ["abc", ""]


def test_what_one_sequence_raises_costs_that_sequence_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    from exhibit.decisions.display.screen import Glass

    def broken(self: Glass, how: int = 0) -> None:
        raise UnboundLocalError("as the library has been seen to do")

    monkeypatch.setattr(Glass, "erase_in_line", broken)
    screen = Screen(2, 10)
    screen.apply(Wire("drop").feed(b"ab\x1b[Kcd"))
    assert screen.text_rows() == ["abcd", ""]
    assert screen.unknown_sequences == 1


def test_the_cursor_is_told_within_the_screen_and_whether_it_shows() -> None:
    screen = Screen(3, 5)
    screen.apply(Wire("drop").feed(b"\x1b[2;1Habcde\x1b[?25l"))
    assert screen.cursor == (1, 4, False)
    screen.apply(Wire("drop").feed(b"\x1b[?25h"))
    assert screen.cursor.visible


def test_the_other_screen_hides_the_main_one_and_gives_it_back() -> None:
    assert shows("main\x1b[?1049hother", 3, 10) == ["    other"]
    assert shows("main\x1b[?1049h\x1b[2J\x1b[Hother\x1b[?1049l!", 3, 10) == ["main!"]
    assert shows("main\x1b[?47hx\x1b[?47h\x1b[?47l\x1b[?47l", 3, 10) == ["main"]


def test_the_other_screen_coming_and_going_changes_all_rows() -> None:
    screen = Screen(3, 10)
    for stream in (b"main\x1b[?47h", b"\x1b[?47l"):
        screen.take_dirty()
        screen.apply(Wire("drop").feed(stream))
        assert screen.take_dirty() == {0, 1, 2}


def test_a_cursor_saved_while_rows_count_from_the_margin_comes_back_to_its_row() -> None:
    assert shows("\x1b[3;9r\x1b[?6h\x1b[2;1H\x1b7\x1b[?6l\x1b[H\x1b8X", 12, 10) == ["", "", "", "X"]


def test_flow_control_items_pass_a_screen_by() -> None:
    screen = Screen(2, 10)
    screen.apply([Text("a"), FlowStop(), FlowGo(), Csi("b", (1,)), Control(13), Escape("", "D"), Text("b")])
    assert screen.text_rows() == ["aa", "b"]
