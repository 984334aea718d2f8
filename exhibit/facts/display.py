"""What kind of display the console has: a screen with rows and columns, or paper."""

from typing import Literal

import msgspec

DisplayKind = Literal["screen", "paper"]
FormFeed = Literal["new sheet", "line feed", "ignore"]
CharacterSet = Literal[
    "ascii",
    "british",
    "danish",
    "french",
    "german",
    "hungarian",
    "italian",
    "norwegian",
    "portuguese",
    "spanish",
    "swedish",
    "latin-1",
    "code page 437",
    "utf-8",
]
"""ASCII, the national versions of ISO/IEC 646, and sets of eight bits."""
LineEnd = Literal["line feed", "return"]


class Display(msgspec.Struct, frozen=True, kw_only=True):
    """The display of one machine, as its folder describes it.

    `rows` is how many rows a screen shows, or how many rows of paper stay visible. `columns` is the
    width of a row in characters. `wrap`: whether a character past the right edge starts a new row;
    otherwise it overprints the last position. `tab_columns` is the distance between tab stops, 0 for
    none. `form_feed`: "new sheet" starts a new sheet on paper and clears a screen, "line feed" moves
    down one row, "ignore" does nothing. `characters`: which character each code stands for. `line_end`: with
    "return" the machine ends its lines with a carriage return alone, and the terminal adds the line feed.
    """

    kind: DisplayKind = "screen"
    rows: int = 24
    columns: int = 80
    wrap: bool = True
    tab_columns: int = 8
    form_feed: FormFeed = "line feed"
    characters: CharacterSet = "ascii"
    line_end: LineEnd = "line feed"
