"""The names of control codes and sequences as ECMA-48 (5th edition, June 1991) has them.

C0 codes: s.8.2 with their acronyms; sequences after ESC: s.5.3; control sequences by their final byte: s.8.3.
DEL is from ECMA-6. What has no name there isn't given one: finals 7/0 to 7/14 are for private use (s.5.4).
"""

from __future__ import annotations

from typing import Final

C0: Final = {
    0: ("NUL", "null"),
    1: ("SOH", "start of heading"),
    2: ("STX", "start of text"),
    3: ("ETX", "end of text"),
    4: ("EOT", "end of transmission"),
    5: ("ENQ", "enquiry"),
    6: ("ACK", "acknowledge"),
    7: ("BEL", "bell"),
    8: ("BS", "backspace"),
    9: ("HT", "character tabulation"),
    10: ("LF", "line feed"),
    11: ("VT", "line tabulation"),
    12: ("FF", "form feed"),
    13: ("CR", "carriage return"),
    14: ("SO", "shift-out"),
    15: ("SI", "shift-in"),
    16: ("DLE", "data link escape"),
    17: ("DC1", "device control one, XON"),
    18: ("DC2", "device control two"),
    19: ("DC3", "device control three, XOFF"),
    20: ("DC4", "device control four"),
    21: ("NAK", "negative acknowledge"),
    22: ("SYN", "synchronous idle"),
    23: ("ETB", "end of transmission block"),
    24: ("CAN", "cancel"),
    25: ("EM", "end of medium"),
    26: ("SUB", "substitute"),
    27: ("ESC", "escape"),
    28: ("IS4", "information separator four"),
    29: ("IS3", "information separator three"),
    30: ("IS2", "information separator two"),
    31: ("IS1", "information separator one"),
    127: ("DEL", "delete"),
}

_AFTER_ESC: Final = {
    "B": ("BPH", "break permitted here"),
    "C": ("NBH", "no break here"),
    "E": ("NEL", "next line"),
    "F": ("SSA", "start of selected area"),
    "G": ("ESA", "end of selected area"),
    "H": ("HTS", "character tabulation set"),
    "I": ("HTJ", "character tabulation with justification"),
    "J": ("VTS", "line tabulation set"),
    "K": ("PLD", "partial line forward"),
    "L": ("PLU", "partial line backward"),
    "M": ("RI", "reverse line feed"),
    "N": ("SS2", "single-shift two"),
    "O": ("SS3", "single-shift three"),
    "P": ("DCS", "device control string"),
    "Q": ("PU1", "private use one"),
    "R": ("PU2", "private use two"),
    "S": ("STS", "set transmit state"),
    "T": ("CCH", "cancel character"),
    "U": ("MW", "message waiting"),
    "V": ("SPA", "start of guarded area"),
    "W": ("EPA", "end of guarded area"),
    "X": ("SOS", "start of string"),
    "Z": ("SCI", "single character introducer"),
    "\\": ("ST", "string terminator"),
    "]": ("OSC", "operating system command"),
    "^": ("PM", "privacy message"),
    "_": ("APC", "application program command"),
    "`": ("DMI", "disable manual input"),
    "a": ("INT", "interrupt"),
    "b": ("EMI", "enable manual input"),
    "c": ("RIS", "reset to initial state"),
    "d": ("CMD", "coding method delimiter"),
    "n": ("LS2", "locking-shift two"),
    "o": ("LS3", "locking-shift three"),
    "|": ("LS3R", "locking-shift three right"),
    "}": ("LS2R", "locking-shift two right"),
    "~": ("LS1R", "locking-shift one right"),
}

_SEQUENCES: Final = {
    "@": ("ICH", "insert character"),
    "A": ("CUU", "cursor up"),
    "B": ("CUD", "cursor down"),
    "C": ("CUF", "cursor right"),
    "D": ("CUB", "cursor left"),
    "E": ("CNL", "cursor next line"),
    "F": ("CPL", "cursor preceding line"),
    "G": ("CHA", "cursor character absolute"),
    "H": ("CUP", "cursor position"),
    "I": ("CHT", "cursor forward tabulation"),
    "J": ("ED", "erase in page"),
    "K": ("EL", "erase in line"),
    "L": ("IL", "insert line"),
    "M": ("DL", "delete line"),
    "N": ("EF", "erase in field"),
    "O": ("EA", "erase in area"),
    "P": ("DCH", "delete character"),
    "R": ("CPR", "active position report"),
    "S": ("SU", "scroll up"),
    "T": ("SD", "scroll down"),
    "U": ("NP", "next page"),
    "V": ("PP", "preceding page"),
    "W": ("CTC", "cursor tabulation control"),
    "X": ("ECH", "erase character"),
    "Y": ("CVT", "cursor line tabulation"),
    "Z": ("CBT", "cursor backward tabulation"),
    "[": ("SRS", "start reversed string"),
    "\\": ("PTX", "parallel texts"),
    "]": ("SDS", "start directed string"),
    "^": ("SIMD", "select implicit movement direction"),
    "`": ("HPA", "character position absolute"),
    "a": ("HPR", "character position forward"),
    "b": ("REP", "repeat"),
    "c": ("DA", "device attributes"),
    "d": ("VPA", "line position absolute"),
    "e": ("VPR", "line position forward"),
    "f": ("HVP", "character and line position"),
    "g": ("TBC", "tabulation clear"),
    "h": ("SM", "set mode"),
    "i": ("MC", "media copy"),
    "j": ("HPB", "character position backward"),
    "k": ("VPB", "line position backward"),
    "l": ("RM", "reset mode"),
    "m": ("SGR", "select graphic rendition"),
    "n": ("DSR", "device status report"),
    "o": ("DAQ", "define area qualification"),
}
_WITH_SPACE: Final = {
    "@": ("SL", "scroll left"),
    "A": ("SR", "scroll right"),
    "P": ("PPA", "page position absolute"),
    "Q": ("PPR", "page position forward"),
    "R": ("PPB", "page position backward"),
}
_LINE_AND_COLUMN: Final = ("CUP", "HVP")
_PARTS_OF: Final = {
    "ED": ("to its end", "from its start", "all of it"),
    "EL": ("to its end", "from its start", "all of it"),
}
_LOOKS: Final = {
    0: "plain",
    1: "bold",
    2: "faint",
    3: "italic",
    4: "underlined",
    5: "blinking slowly",
    6: "blinking fast",
    7: "negative",
    8: "concealed",
    9: "crossed out",
    21: "doubly underlined",
    22: "normal intensity",
    24: "not underlined",
    25: "steady",
    27: "positive",
    28: "revealed",
}
_UNNAMED: Final = "without a name in the standard"
_PRIVATE: Final = "for private use"


def escape_name(intermediates: str, final: str) -> tuple[str, str]:
    """The acronym and name of ESC, these intermediates and this final character."""
    if intermediates:
        return "ESC", "designates or announces a code (ECMA-35)"
    if "0" <= final <= "?":
        return "ESC", _PRIVATE
    return _AFTER_ESC.get(final, ("ESC", _UNNAMED))


def sequence_name(params: str, intermediates: str, final: str) -> tuple[str, str]:
    """The acronym of a control sequence, and its name with what its parameters say.

    `params` are the characters between CSI and the intermediates or final.
    """
    if params[:1] in ("<", "=", ">", "?"):
        acronym = _SEQUENCES.get(final, ("CSI", ""))[0]
        return acronym, f"{_PRIVATE}: {params}"
    if "p" <= final <= "~":
        return "CSI", f"{_PRIVATE}: {params}{intermediates}{final}"
    known = {"": _SEQUENCES, " ": _WITH_SPACE}.get(intermediates, {}).get(final)
    if known is None:
        return "CSI", _UNNAMED
    acronym, name = known
    said = _said_of(acronym, params)
    return acronym, f"{name}: {said}" if said else name


def _said_of(acronym: str, params: str) -> str:
    parts = params.split(";")
    if not all(part.isdigit() or not part for part in parts):
        return params
    numbers = [int(part[:9]) if part else None for part in parts]
    if acronym in _LINE_AND_COLUMN:
        line, column = [*numbers, None][:2]
        return f"line {line or 1}, column {column or 1}"
    if acronym in _PARTS_OF:
        chosen = numbers[0] or 0
        return _PARTS_OF[acronym][chosen] if chosen < 3 else params
    if acronym == "SGR":
        return ", ".join(_LOOKS.get(number or 0, f"{number}") for number in numbers[:8])
    return params
