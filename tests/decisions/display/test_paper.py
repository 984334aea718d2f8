"""What stands on paper. Overstriking to underline and to embolden is common practice of the time."""

import pytest

from exhibit.decisions.display.choice import display_for
from exhibit.decisions.display.paper import MOST_STRIKES, Paper
from exhibit.decisions.display.rendition import Run, Style
from exhibit.decisions.display.screen import Screen
from exhibit.decisions.display.wire import Text, Wire
from exhibit.facts.display import Display, FormFeed

BOLD, UNDERLINE, OVERSTRUCK = int(Style.BOLD), int(Style.UNDERLINE), int(Style.OVERSTRUCK)


def printed(stream: bytes, columns: int = 20, **settings: object) -> Paper:
    paper = Paper(columns, **settings)  # type: ignore[arg-type]
    paper.apply(Wire("data").feed(stream))
    return paper


@pytest.mark.parametrize(
    ("stream", "row"),
    [
        (b"TIDE\rTIDE", (Run("TIDE", BOLD),)),
        (b"T\bTIDE", (Run("T", BOLD), Run("IDE", 0))),
        (b"TIDE\r____", (Run("TIDE", UNDERLINE),)),
        (b"_\bT_\bIDE", (Run("TI", UNDERLINE), Run("DE", 0))),
        (b"TI\rTI\r_", (Run("T", BOLD | UNDERLINE), Run("I", BOLD))),
        (b"O\b/", (Run("/", OVERSTRUCK),)),
        (b"O\b/\b_", (Run("/", OVERSTRUCK | UNDERLINE),)),
        (b"__", (Run("__", 0),)),
        (b"_\b_", (Run("_", BOLD),)),
        (b"abc\r   ", (Run("abc", 0),)),
        (b"a  \rXXXX", (Run("X", OVERSTRUCK), Run("XXX", 0))),
    ],
)
def test_what_is_struck_over_stays_and_shows(stream: bytes, row: tuple[Run, ...]) -> None:
    assert printed(stream).rows() == [row]


def test_all_characters_struck_in_one_place_are_kept_in_order() -> None:
    paper = printed(b"fine\nO\b/\b-x\b_")
    assert paper.overstrikes(1) == {4: "O/-", 5: "x_"}
    assert paper.overstrikes(0) == {}
    assert paper.text_rows() == ["fine", "    -x"]


def test_a_blot_is_bounded() -> None:
    paper = printed(b"".join(b"%c\b" % (65 + number % 26) for number in range(1000)))
    assert paper.overstrikes(0) == {0: "EFGHIJKL"}
    assert MOST_STRIKES == 8


def test_at_the_right_edge_paper_wraps_or_the_carriage_stops() -> None:
    assert printed(b"abcdefg", 5).text_rows() == ["abcde", "fg"]
    stopped = printed(b"abcdefg", 5, wrap=False)
    assert stopped.text_rows() == ["abcdg"]
    assert stopped.overstrikes(0) == {4: "efg"}
    assert stopped.cursor == (0, 4, True)


def test_a_full_row_and_a_new_line_leave_no_empty_row() -> None:
    assert printed(b"abcde\r\nfg", 5).text_rows() == ["abcde", "fg"]


def test_backspace_after_the_last_column_comes_back_to_it() -> None:
    assert printed(b"abcde\b_", 5).rows() == [(Run("abcd", 0), Run("e", UNDERLINE))]
    assert printed(b"abcde\b_", 5, wrap=False).rows() == [(Run("abc", 0), Run("d", UNDERLINE), Run("e", 0))]


def test_line_feed_keeps_the_column_and_tabs_go_to_their_stops() -> None:
    assert printed(b"ab\ncd\r\n\te").text_rows() == ["ab", "  cd", "        e"]
    assert printed(b"\te\tf", 12, tab_columns=5).text_rows() == ["     e    f"]
    assert printed(b"\t\t\t\t\te", 12, tab_columns=5).text_rows() == ["           e"]
    assert printed(b"a\tb", tab_columns=0).text_rows() == ["ab"]


@pytest.mark.parametrize(
    ("form_feed", "rows", "sheets"),
    [
        ("new sheet", ["", "one", "two"], [0, 2]),
        ("line feed", ["", "", "one", "two"], []),
        ("ignore", ["", "onetwo"], []),
    ],
)
def test_form_feed_does_what_the_display_says(
    form_feed: FormFeed, rows: list[str], sheets: list[int]
) -> None:
    stream = b"\f\none\f\r\f\ftwo" if form_feed == "new sheet" else b"\f\none\ftwo"
    paper = printed(stream, form_feed=form_feed)
    assert [row.strip() for row in paper.text_rows()] == rows
    assert paper.sheet_starts() == sheets


def test_only_the_last_rows_are_kept_and_numbers_go_on() -> None:
    paper = printed(b"".join(b"row %d\r\n\f" % number for number in range(50)), keep_rows=10)
    assert len(paper.rows()) == 10
    assert paper.text_rows()[-3:] == ["row 49", "", ""]
    last = paper.first_row + 9
    assert all(paper.first_row <= number <= last for number in paper.sheet_starts())
    assert all(paper.first_row <= number <= last for number in paper.take_dirty())


def test_changed_rows_are_told_once_by_their_number_since_the_first() -> None:
    paper = printed(b"a\r\nb\r\nc\r\nd", keep_rows=3)
    assert paper.first_row == 1
    assert paper.take_dirty() == {1, 2, 3}
    before = paper.rows()
    paper.apply([Text("e")])
    assert paper.take_dirty() == {3}
    assert paper.take_dirty() == set()
    assert [old is new for old, new in zip(before, paper.rows(), strict=True)] == [True, True, False]


def test_sequences_print_nothing_and_are_counted() -> None:
    paper = printed(b"a\x1b[2Jb\x1b[31mc\x1bM\x1b]0;title\ad")
    assert paper.text_rows() == ["abcd"]
    assert paper.unknown_sequences == 4


def test_the_bell_rings_and_prints_nothing() -> None:
    paper = printed(b"a\ab")
    assert (paper.text_rows(), paper.bells) == (["ab"], 1)


def test_the_display_of_a_machines_folder_is_made_as_described() -> None:
    paper = display_for(Display(kind="paper", rows=5, columns=10, tab_columns=3))
    screen = display_for(Display(rows=5, columns=10, wrap=False, form_feed="new sheet"))
    assert isinstance(paper, Paper)
    assert isinstance(screen, Screen)
    for display in (paper, screen):
        display.apply(Wire("drop").feed(b"\tone" + b"\r\n" * 8 + b"123456789012"))
        assert len(display.rows()) <= 5
    assert paper.text_rows()[-2:] == ["1234567890", "12"]
    assert screen.text_rows()[-1] == "1234567892"
    screen.apply(Wire("drop").feed(b"\fnew"))
    assert screen.text_rows() == ["new", "", "", "", ""]
