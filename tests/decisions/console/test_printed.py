"""The printed line is what a person would read on it."""

from __future__ import annotations

import pytest

from exhibit.decisions.console.printed import PrintedLine
from exhibit.decisions.display.wire import Wire
from exhibit.decisions.machine.pattern import MOST_COLUMNS
from tests.decisions.feeds import in_every_feed


def read(data: bytes, feed, line: PrintedLine | None = None) -> tuple[list[str], str]:
    """The lines that ended, and what stands on the one that hasn't."""
    line = line or PrintedLine()
    wire = Wire("drop")
    ended = []
    for piece in feed(data):
        for item in wire.feed(piece):
            text = line.take(item)
            if text is not None:
                ended.append(text)
    return ended, line.text


CASES = {
    "a line and the beginning of the next": (b"ONE\r\nTWO", ["ONE"], "TWO"),
    "a line feed alone ends a line, and the next one starts at its beginning": (b"AB\nCD", ["AB"], "CD"),
    "CR goes back and what comes then overwrites": (b"ABCD\rXY", [], "XYCD"),
    "a blank overwrites on a screen": (b"ABCD\r  ", [], "  CD"),
    "BS goes back one, not past the beginning": (b"A\b\b\bB", [], "B"),
    "rubout as BS, space, BS": (b"HELX\b \bP", [], "HELP"),
    "a tab goes to the next stop": (b"A\tB\tC", [], "A       B       C"),
    "a tab at a stop goes to the next one": (b"ABCDEFGH\tI", [], "ABCDEFGH        I"),
    "erased to the end": (b"ABCDEF\x1b[3D\x1b[K", [], "ABC"),
    "erased from the beginning": (b"ABCDEF\x1b[3D\x1b[1K", [], "    EF"),
    "erased whole": (b"ABCDEF\x1b[2K", [], ""),
    "erased whole, the cursor stays": (b"ABC\x1b[2KD", [], "   D"),
    "moved right past the end": (b"AB\x1b[3CX", [], "AB   X"),
    "moved to a column": (b"ABCDEF\x1b[3GX", [], "ABXDEF"),
    "moved left too far": (b"AB\x1b[9DX", [], "XB"),
    "what is painted elsewhere is no line": (b"PROMPT:\x1b[24;1HFOOT", [], "FOOT"),
    "a cleared screen throws the line away": (b"PROMPT:\x1b[2J", [], ""),
    "colours show nothing": (b"\x1b[1mBOLD\x1b[0m", [], "BOLD"),
    "bracketed paste shows nothing": (b"\x1b[?2004hname: ", [], "name: "),
    "a bell shows nothing": (b"A\x07B", [], "AB"),
    "form feed ends a line": (b"AB\x0cCD", ["AB"], "CD"),
}


@in_every_feed
@pytest.mark.parametrize("case", CASES)
def test_a_line_reads_as_a_person_reads_it(case, feed):
    data, ended, standing = CASES[case]
    assert read(data, feed) == (ended, standing)


@in_every_feed
@pytest.mark.parametrize("case", CASES)
def test_trailing_bytes_change_nothing_of_what_came_before(case, feed):
    data, ended, standing = CASES[case]
    lines, after = read(data + b"\r\nTRAILING", feed)
    assert (lines, after) == ([*ended, standing], "TRAILING")


@in_every_feed
def test_wrapping_at_the_right_edge_ends_no_line(feed):
    assert read(b"X" * 200, feed) == ([], "X" * 200)


@in_every_feed
def test_a_line_without_end_is_kept_up_to_a_limit(feed):
    ended, standing = read(b"X" * (3 * MOST_COLUMNS) + b"\rY", feed)
    assert (ended, len(standing), standing[:2]) == ([], MOST_COLUMNS, "YX")


@in_every_feed
def test_on_paper_a_line_struck_under_another_leaves_it_readable(feed):
    paper = PrintedLine(paper=True)
    assert read(b"TOTAL 12\r________", feed, paper) == ([], "TOTAL 12")
    assert read(b"\rTOTAL", feed, paper) == ([], "TOTAL 12")
    assert read(b"\r      34", feed, paper) == ([], "TOTAL 34")
    assert read(b"\b\b  ", feed, paper) == ([], "TOTAL 34")


@in_every_feed
def test_without_tab_stops_a_tab_does_nothing(feed):
    assert read(b"A\tB", feed, PrintedLine(0)) == ([], "AB")
