"""Which control code and which sequence does what on a screen: a table, no more.

Keys are the private mark, the intermediates and the final byte run together; values name methods
of screen.Glass, called with the tuple of parameters (there is always at least one; 0 = not given).
Clauses are those of ECMA-48, 5th ed.; "private" marks sequences that it leaves to makers, which
follow common practice (as terminfo's entries and the programs that we test with use them).
"""

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

SEQUENCES: dict[str, str] = {
    "@": "insert_blanks",  # ICH 8.3.64
    "A": "up",  # CUU 8.3.22
    "B": "down",  # CUD 8.3.19
    "C": "right",  # CUF 8.3.20
    "D": "left",  # CUB 8.3.18
    "E": "down_to_start",  # CNL 8.3.12
    "F": "up_to_start",  # CPL 8.3.13
    "G": "to_column",  # CHA 8.3.9
    "H": "to_place",  # CUP 8.3.21
    "I": "tabs_on",  # CHT 8.3.10
    "J": "erase_display",  # ED 8.3.39
    "?J": "erase_display",  # private; nothing is protected here
    "K": "erase_line",  # EL 8.3.41
    "?K": "erase_line",  # private
    "L": "insert_rows",  # IL 8.3.67
    "M": "delete_rows",  # DL 8.3.32
    "P": "delete_places",  # DCH 8.3.26
    "S": "scroll_up",  # SU 8.3.147
    "T": "scroll_down",  # SD 8.3.113
    "X": "erase_places",  # ECH 8.3.38
    "Z": "tabs_back",  # CBT 8.3.7
    "`": "to_column",  # HPA 8.3.57
    "a": "right",  # HPR 8.3.59
    "b": "repeat",  # REP 8.3.103
    "d": "to_row",  # VPA 8.3.158
    "e": "down_freely",  # VPR 8.3.160
    "f": "to_place",  # HVP 8.3.63
    "g": "clear_tabs",  # TBC 8.3.154
    "h": "set_modes",  # SM 8.3.125
    "?h": "set_private_modes",  # private
    "l": "reset_modes",  # RM 8.3.106
    "?l": "reset_private_modes",  # private
    "m": "choose_style",  # SGR 8.3.117
    "r": "choose_margins",  # private
    "s": "save_cursor",  # private
    "u": "restore_cursor",  # private
    "!p": "soft_reset",  # private
}

ESCAPES_WITHOUT_EFFECT = frozenset({"=", ">", "\\", " F", "%@", "%G"})
"""Known escapes that change nothing on a screen: keypad, ST, 7-bit controls, character coding."""

SEQUENCES_WITHOUT_EFFECT = frozenset({"n", "?n", "c", "?c", ">c", "i", "?i", " q", "t"})
"""Queries (DSR 8.3.35, DA 8.3.24), which nobody answers, printing, cursor shapes, window handling."""

MODES_WITHOUT_EFFECT = frozenset({2, 12, 34})
"""Modes of SM and RM that concern the keyboard or the cursor's shape."""

PRIVATE_MODES_WITHOUT_EFFECT = frozenset(
    {1, 4, 8, 9, 12, 1000, 1002, 1003, 1004, 1005, 1006, 1015, 1016, 1034, 2004, 2026}
)
"""Keys, smooth scrolling, cursor shape, mouse, bracketed paste, joint painting."""
