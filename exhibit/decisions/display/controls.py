"""Tables: what each sequence does on a screen, and why that isn't always left to pyte.

A key is the private mark, the intermediates and the final byte in one string. A value is the name of an
operation of pyte or, if pyte has none, of `editing`. Clauses are those of ECMA-48, 5th ed.; "private" marks
sequences that it leaves to makers, which here follow common practice (as terminfo's entries and the
programs that we test with use them).
"""

from typing import Literal, NamedTuple

Takes = Literal["nothing", "count", "place", "list"] | tuple[int, ...]
"""Which parameters an operation takes: none; one ("count") or two ("place"), where 0 means "not given"; all
("list"); or only the first, which must be one of these numbers."""

CONTROLS: dict[int, str] = {
    0x07: "bell",  # BEL 8.3.3
    0x08: "backspace",  # BS 8.3.5
    0x09: "tab",  # HT 8.3.60
    0x0A: "linefeed",  # LF 8.3.74
    0x0B: "linefeed",  # VT 8.3.161; no vertical stops here, so the next line
    0x0C: "form_feed",  # FF 8.3.51
    0x0D: "carriage_return",  # CR 8.3.15
    0x0E: "shift_out",  # SO 8.3.126
    0x0F: "shift_in",  # SI 8.3.119
}

ESCAPES: dict[str, str] = {
    "7": "save_cursor",  # private
    "8": "restore_cursor",  # private
    "D": "index",  # IND, of the 4th ed.
    "E": "next_line",  # NEL 8.3.86
    "H": "set_tab_stop",  # HTS 8.3.62
    "M": "reverse_index",  # RI 8.3.104
    "c": "reset",  # RIS 8.3.105
    "#8": "alignment_display",  # private
}

SEQUENCES: dict[str, tuple[str, Takes]] = {
    "@": ("insert_characters", "count"),  # ICH 8.3.64
    "A": ("cursor_up", "count"),  # CUU 8.3.22
    "B": ("cursor_down", "count"),  # CUD 8.3.19
    "C": ("cursor_forward", "count"),  # CUF 8.3.20
    "D": ("cursor_back", "count"),  # CUB 8.3.18
    "E": ("cursor_down1", "count"),  # CNL 8.3.12
    "F": ("cursor_up1", "count"),  # CPL 8.3.13
    "G": ("cursor_to_column", "count"),  # CHA 8.3.9
    "H": ("cursor_position", "place"),  # CUP 8.3.21
    "I": ("tabs_on", "count"),  # CHT 8.3.10
    "J": ("erase_in_display", (0, 1, 2, 3)),  # ED 8.3.39
    "?J": ("erase_in_display", (0, 1, 2, 3)),  # private; nothing is protected here
    "K": ("erase_in_line", (0, 1, 2)),  # EL 8.3.41
    "?K": ("erase_in_line", (0, 1, 2)),  # private
    "L": ("insert_lines", "count"),  # IL 8.3.67
    "M": ("delete_lines", "count"),  # DL 8.3.32
    "P": ("delete_characters", "count"),  # DCH 8.3.26
    "S": ("scroll_up", "count"),  # SU 8.3.147
    "T": ("scroll_down", "list"),  # SD 8.3.113
    "X": ("erase_characters", "count"),  # ECH 8.3.38
    "Z": ("tabs_back", "count"),  # CBT 8.3.7
    "`": ("cursor_to_column", "count"),  # HPA 8.3.57
    "a": ("cursor_forward", "count"),  # HPR 8.3.59
    "b": ("repeat", "count"),  # REP 8.3.103
    "d": ("cursor_to_line", "count"),  # VPA 8.3.158
    "e": ("rows_on", "count"),  # VPR 8.3.160
    "f": ("cursor_position", "place"),  # HVP 8.3.63
    "g": ("clear_tab_stop", (0, 3)),  # TBC 8.3.154
    "h": ("set_mode", "list"),  # SM 8.3.125
    "?h": ("set_mode", "list"),  # private
    "l": ("reset_mode", "list"),  # RM 8.3.106
    "?l": ("reset_mode", "list"),  # private
    "m": ("select_graphic_rendition", "list"),  # SGR 8.3.117
    "r": ("set_margins", "place"),  # private
    "s": ("save_cursor", "nothing"),  # private
    "u": ("restore_cursor", "nothing"),  # private
    "!p": ("soft_reset", "nothing"),  # private
}

ESCAPES_WITHOUT_EFFECT = frozenset({"=", ">", "\\", " F", "%@", "%G"})
"""Known escapes that change nothing on a screen: keypad, ST, 7-bit controls, character coding."""

SEQUENCES_WITHOUT_EFFECT = frozenset({"n", "?n", "c", "?c", ">c", "i", "?i", " q", "t"})
"""Queries (DSR 8.3.35, DA 8.3.24), which are never answered; printing, cursor shapes, window handling."""

MODES = (frozenset({4, 20}), frozenset({2, 12, 34}))
"""The modes of SM and RM that pyte handles, and those without effect: the keyboard, the cursor's shape."""

PRIVATE_MODES = (
    frozenset({6, 7, 25}),
    frozenset({1, 4, 8, 9, 12, 1000, 1002, 1003, 1004, 1005, 1006, 1015, 1016, 1034, 2004, 2026}),
)
"""The same for private modes: keys, smooth scrolling, cursor shape, mouse, pasting, joint painting."""

SCREEN_MODES = frozenset({47, 1047, 1048, 1049})
"""Private modes that switch to another screen and back; 1048 and 1049 save the cursor."""


class Reason(NamedTuple):
    """Why an operation isn't left to pyte 0.8.2: it has a fault, or is too slow.

    operation is a method or an attribute of pyte.Screen or pyte.Stream, or a sequence for which
    pyte.Stream calls another operation. shown_by is a text that shows the fault on a screen of
    24 x 80, or "" if the reason is speed, which tests/benchmarks/bench_screen.py measures.
    """

    operation: str
    why: str
    shown_by: str = ""


_FULL = "A" * 80
_WAITS = "After a full row, the next character still wraps."

REASONS = (
    Reason("buffer", "Too slow: all rows are painted anew each time."),
    Reason("buffer", "Deleting rows leaves one that is followed by a row never used.", "old\x1b[1;1H\x1b[M"),
    Reason("default_char", "There is no concealed character.", "\x1b[1;8mA"),
    Reason("reset", "The second character set is line drawing before anybody chose it.", "\x0eq"),
    Reason("draw", "Too slow: each character is looked up and copied on its own."),
    Reason("draw", "One unprintable character drops the rest of the text.", "ab\x11cd"),
    Reason("bell", "It does nothing; we count bells.", "\a"),
    Reason("index", "Too slow: scrolling moves every row."),
    Reason("index", "From below the region it jumps up into it.", "\x1b[1;3r\x1b[5;1H\x1bDX"),
    Reason("index", _WAITS, f"{_FULL}\x1bDX"),
    Reason("reverse_index", _WAITS, f"{_FULL}\x1bMX"),
    Reason("cursor_up", "From above the region it jumps down into it.", "\x1b[4;6r\x1b[2;1H\x1b[AX"),
    Reason("cursor_up", _WAITS, f"{_FULL}\x1b[AX"),
    Reason("cursor_down", "From below the region it jumps up into it.", "\x1b[1;3r\x1b[5;1H\x1b[BX"),
    Reason("cursor_down", _WAITS, f"{_FULL}\x1b[BX"),
    Reason(
        "cursor_position",
        "Where rows count from a margin, a place below the region is ignored.",
        "\x1b[2;4r\x1b[?6h\x1b[9;1HX",
    ),
    Reason("cursor_to_line", "Where rows count from a margin that isn't set, it raises.", "\x1b[?6h\x1b[3dX"),
    Reason("cursor_to_line", _WAITS, f"{_FULL}\x1b[3dX"),
    Reason("tab", "After a full row, the next character overwrites the last one.", f"{_FULL}\tX"),
    Reason("tab", "It goes to a stop beyond the last column.", f"\x1b[3g{_FULL}\x1bH\r\tX"),
    Reason("insert_lines", f"Outside the region: {_WAITS.lower()}", f"\x1b[3;5r{_FULL}\x1b[LX"),
    Reason("delete_lines", f"Outside the region: {_WAITS.lower()}", f"\x1b[3;5r{_FULL}\x1b[MX"),
    Reason(
        "insert_characters",
        "What was pushed over the right edge can be pulled back.",
        "\x1b[1;80HZ\r\x1b[@\x1b[P",
    ),
    Reason("insert_characters", _WAITS, f"{_FULL}\x1b[@X"),
    Reason("delete_characters", _WAITS, f"{_FULL}\x1b[PX"),
    Reason("erase_characters", _WAITS, f"{_FULL}\x1b[XX"),
    Reason("erase_in_display", "Too slow: rows that were erased are painted cell by cell."),
    Reason(
        "erase_in_display", "3 is about rows that have scrolled away, and erases the screen.", "abc\x1b[3J"
    ),
    Reason("alignment_display", "It doesn't go home.", "\x1b[9;9H\x1b#8X"),
    Reason("alignment_display", "It keeps the style of what it overwrites.", "\x1b[7mA\x1b[m\x1b#8"),
    Reason("set_margins", "Without parameters it doesn't go home.", "\x1b[5;5H\x1b[rX"),
    Reason("set_margins", "A bottom that isn't given stays as it was.", "\x1b[1;2r\x1b[1ra\r\nb\r\nc"),
    Reason("set_mode", "Mode 3 makes the screen wider.", "\x1b[?3h\x1b[1;100HX"),
    Reason("set_mode", "Mode 192 is taken for private mode 6.", "\x1b[3;5r\x1b[192h\x1b[1;1HX"),
    Reason("set_mode", "The other screen is the same screen.", "main\x1b[?1049h\x1b[Hother\x1b[?1049lX"),
    Reason("reset_mode", "Mode 192 is taken for private mode 6.", "\x1b[3;5r\x1b[?6h\x1b[192l\x1b[1;1HX"),
    Reason("reset_mode", "The other screen stays.", "main\x1b[?1049h\x1b[2J\x1b[?1049lX"),
    Reason("save_cursor", "Saved cursors pile up without end.", "\x1b7ab\x1b7cd\x1b8\x1b8X"),
    Reason("restore_cursor", "A cursor can be restored only once.", "ab\x1b7cd\x1b8X\x1b8Y"),
    Reason("restore_cursor", "It moves the cursor into the region.", "\x1b7\x1b[3;5r\x1b8X"),
    Reason("define_charset", "Among line drawing, + , - . and 0 are arrows and a block.", "\x1b(0+,-.0"),
    Reason("select_graphic_rendition", "8 doesn't conceal.", "\x1b[8mA"),
    Reason("select_graphic_rendition", "A colour after 58 is taken for a style.", "\x1b[58;5;4mA"),
    Reason("select_graphic_rendition", "6 doesn't blink and 21 doesn't underline.", "\x1b[6;21mA"),
    Reason("FF", "It is always a line feed; a machine's folder says what its display does.", "ab\fc"),
    Reason("ESC E", "NEL doesn't go to the first column.", "abc\x1bEX"),
    Reason(
        "CSI e",
        "VPR stops at the bottom margin even where rows don't count from a margin.",
        "\x1b[1;3r\x1b[5eX",
    ),
    Reason("CSI '", "HPA ends with a grave accent, not with an apostrophe.", "\x1b[5`X"),
    Reason("CSI c", "DA is answered, and an answer would be typed at the machine.", "\x1b[c"),
    Reason("CSI n", "DSR is answered, and an answer would be typed at the machine.", "\x1b[6n"),
    Reason("feed", "Device control strings are printed.", "\x1bPtext\x1b\\ab"),
    Reason("feed", "A sequence within a sequence is printed.", "\x1b[1\x1b[Bab"),
    Reason("feed", "Sequences with intermediates or other private marks are printed.", "\x1b[!p\x1b[<1Mab"),
    Reason("feed", "A parameter too many raises, and drops what follows.", "\x1b[3;4Aab"),
    Reason("feed", "A cancelled title swallows what follows.", "\x1b]0;title\x1aab"),
)
"""At least one for each operation that we override. docs/screen.md lists them; tests try them on pyte."""
