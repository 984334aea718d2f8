"""Output of real programs that pyte's source archive ships, with the screens that it expects.

Some of the streams are in UTF-8. On our line a character beyond ASCII is one byte that becomes one
substitute mark, so the test puts one such byte in, and each mark back into its character.
"""

import json

import pytest

from exhibit.decisions.display.characters import SUBSTITUTE_MARK
from exhibit.decisions.display.screen import Screen
from exhibit.decisions.display.wire import Item, Text, Wire
from tests.conftest import Needs
from tests.decisions.display.oracles.feeds import feeds

CAPTURED = ("cat-gpl3", "find-etc", "htop", "ls", "mc", "top", "vi")
BEYOND_ASCII = b"\x9b"  # taken as a control it would begin a sequence


class _Unmarking:
    """Puts the characters back into the places of their marks, in order."""

    def __init__(self, text: str) -> None:
        self._characters = iter([character for character in text if not character.isascii()])

    def __call__(self, item: Item) -> Item:
        if not isinstance(item, Text):
            return item
        return Text("".join(next(self._characters) if c == SUBSTITUTE_MARK else c for c in item.text))


@pytest.mark.parametrize("how", ["whole", "byte by byte", "with trailing bytes"])
@pytest.mark.parametrize("name", CAPTURED)
def test_a_captured_stream_shows_the_screen_that_pytes_archive_expects(
    name: str, how: str, needs: Needs
) -> None:
    folder = needs.captured_streams()
    text = (folder / f"{name}.input").read_bytes().decode("utf-8")
    expected = json.loads((folder / f"{name}.output").read_text("utf-8"))
    stream = b"".join(c.encode() if c.isascii() else BEYOND_ASCII for c in text)
    wire, screen, unmark = Wire("data"), Screen(24, 80), _Unmarking(text)
    for piece in feeds(stream)[how]:
        screen.apply(unmark(item) for item in wire.feed(piece))
    assert [row.ljust(80) for row in screen.text_rows()] == expected
    assert (screen.unknown_sequences, wire.unknown_sequences) == (0, 0)
