"""pyte's own screen and stream beside ours: what each makes of the same bytes, in words to compare."""

from itertools import groupby

import pyte

from exhibit.decisions.display.rendition import style_names
from exhibit.decisions.display.screen import Screen
from exhibit.decisions.display.wire import Wire

_NAMES = {"bold": "bold", "underscore": "underline", "reverse": "reverse", "blink": "blink"}


class ListeningScreen(pyte.Screen):
    """A pyte screen that keeps what it would type at the machine."""

    def __init__(self, columns: int, lines: int) -> None:
        self.answers: list[str] = []
        super().__init__(columns, lines)

    def write_process_input(self, data: str) -> None:
        self.answers.append(f"answers {data!r}")


def by_pyte(pieces: list[bytes], *, utf8: bool = False) -> list[str]:
    """The rows that pyte shows, styles in angle brackets; then what it raised and what it would answer."""
    screen = ListeningScreen(80, 24)
    stream = pyte.ByteStream(screen)
    stream.use_utf8 = utf8
    raised = []
    for piece in pieces:
        try:
            stream.feed(piece)
        except Exception as error:
            raised.append(type(error).__name__)
    lines = ([screen.buffer[row][column] for column in range(screen.columns)] for row in range(screen.lines))
    rows = [_marked([(cell.data, _style(cell)) for cell in line]) for line in lines]
    return [*_shortened(rows), *raised, *screen.answers]


def by_us(pieces: list[bytes]) -> list[str]:
    """The rows that we show, in the same words; then a word for each bell."""
    wire, screen = Wire("drop"), Screen(24, 80, form_feed="new sheet")
    for piece in pieces:
        screen.apply(wire.feed(piece))
    rows = [
        _marked([(character, " ".join(style_names(run.style))) for run in row for character in run.text])
        for row in screen.rows()
    ]
    return [*_shortened(rows), *["bell"] * screen.bells]


def _style(cell: pyte.screens.Char) -> str:
    return " ".join(name for field, name in _NAMES.items() if getattr(cell, field))


def _marked(cells: list[tuple[str, str]]) -> str:
    """Ten or more of the same character are so many of it: [79 A]."""
    while cells and cells[-1] == (" ", ""):
        cells.pop()
    text = ""
    for (character, style), same in groupby(cells):
        count = len(list(same))
        run = f"[{count} {character}]" if count >= 10 else character * count
        text += f"<{style}>{run}</>" if style else run
    return text


def _shortened(rows: list[str]) -> list[str]:
    """Without the empty rows at the end."""
    while rows and not rows[-1]:
        rows.pop()
    return rows
