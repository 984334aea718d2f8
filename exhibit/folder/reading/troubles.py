"""Reads the troubles and interruptions of machine.toml: what is wrong, and what can break in."""

from __future__ import annotations

from typing import Any, Final

import msgspec

from exhibit.decisions.machine.description import Interruption, StatusDisplay, Trouble
from exhibit.facts.console_facts import SafeToLeave, WhomToCall
from exhibit.facts.line_settings import Flow
from exhibit.folder.reading.languages import DO, TROUBLES, Beside
from exhibit.folder.reading.tables import HARMLESS, LocatedTexts, Table
from exhibit.folder.reading.values import intended_name, row_range

_WORDS: Final = {"words": "What has happened", DO: "What to do next"}
_SAFE: Final[tuple[SafeToLeave, ...]] = ("yes", "no", "unknown")
_WHOM: Final[tuple[WhomToCall, ...]] = ("keyholder", "engineer", "nobody")
_HELD_FOR: Final = "held_for"
"""The key of a trouble that isn't printed: for this long the machine has blocked typing by XOFF."""
CAUTION: Final = "caution"
"""What to take care of before doing something by hand: the name of an entry of [cautions], or the words."""
CAUTIONS: Final = "cautions"
NO_CAUTION: Final = "none"
SAFE_TO_LEAVE: Final = "safe_to_leave"
CALL: Final = "call"
OVER_WHEN: Final = "over_when"
BRING: Final = "bring"
COMMON_TO_TROUBLES: Final = (DO, "ends_script", CAUTION, SAFE_TO_LEAVE, CALL)
"""The keys that can stand in [troubles], for each trouble that doesn't have them."""
_INTERRUPTION_ENDS: Final = ("lines", "blank_lines", "ends")
_ON_A_DISPLAY: Final = ("display", "rows")
"""The keys of a trouble on a status display; without them it is a printed line."""


def read_trouble(
    name: str,
    table: Table,
    displays: dict[str, StatusDisplay],
    display_rows: int,
    flow: Flow,
    beside: list[Beside],
) -> Trouble:
    """Read one trouble. Its words go to `beside` if they stand here. Adds mistakes to the table."""
    if any(_is_present(table, key) for key in _WORDS):
        beside += [Beside(TROUBLES, name, table.text(key, _WORDS[key]), table, key) for key in _WORDS]
    read_caution(table, beside)
    safe: SafeToLeave = table.choice(SAFE_TO_LEAVE, _SAFE, default="unknown")
    call: WhomToCall = table.choice(CALL, _WHOM, default="keyholder")
    over_when: LocatedTexts = []
    if _is_present(table, OVER_WHEN):
        over_when = table.texts(OVER_WHEN, '["ready"]', at_least_one=True, one_alone=True)
    bring = read_bring(table)
    trouble = (
        _read_blocked_typing(name, table, flow)
        if _is_present(table, _HELD_FOR)
        else _read_printed(name, table, displays, display_rows)
    )
    shown = tuple(text for text, _ in over_when)
    return msgspec.structs.replace(trouble, safe_to_leave=safe, call=call, over_when=shown, bring=bring)


def read_bring(table: Table) -> tuple[str, ...]:
    """Read what an engineer should bring because of it. Adds mistakes to the table."""
    if not _is_present(table, BRING):
        return ()
    found = table.texts(BRING, '["a spare for its board"]', at_least_one=True, one_alone=True)
    return tuple(text for text, _ in found)


def over_when_in(table: Table) -> LocatedTexts:
    """Return the names of what shows that this trouble is over, as they are written."""
    written = table.written(OVER_WHEN)
    if isinstance(written, str):
        return [(written, (OVER_WHEN,))]
    listed = written if isinstance(written, list) else []
    return [(name, (OVER_WHEN, place)) for place, name in enumerate(listed) if isinstance(name, str)]


def _read_printed(name: str, table: Table, displays: dict[str, StatusDisplay], display_rows: int) -> Trouble:
    example = "NOT UNDERSTOOD: {...}"
    pattern = HARMLESS
    if _is_present(table, "line"):
        pattern = table.pattern("line", example)
    else:
        table.wrong((), f"{table.title} lacks line or {_HELD_FOR}", f'line = "{example}"')
    ends_script = table.boolean("ends_script", default=True)
    on_a_display = any(_is_present(table, key) for key in _ON_A_DISPLAY)
    display, rows = "", (0, 0)
    if on_a_display:
        display = table.name("display", "board")
        rows = table.read("rows", "5", (1, 1), row_range)
        table.look_up(("display",), display, displays, "display")
        if rows[1] > display_rows:
            what = f"the display has only {display_rows} rows"
            table.wrong("rows", what, f'rows = "{min(rows[0], display_rows)}"')
    table.close()
    return Trouble(
        name=name,
        pattern=pattern,
        ends_script=ends_script,
        display=display,
        first_row=rows[0],
        last_row=rows[1],
        words={},
        do={},
    )


def read_caution(table: Table, beside: list[Beside]) -> None:
    """Read the key. Words go to `beside`, named by themselves. Adds mistakes to the table."""
    if " " in str(table.data.get(CAUTION, "")).strip():
        words = table.text(CAUTION, "Mains inside. Touch nothing but the switch.")
        beside.append(Beside(CAUTIONS, words, words, table, CAUTION))
    else:
        table.name(CAUTION, "spinning", default=NO_CAUTION)


def caution_named(table: Table) -> str:
    """Return the name of the caution; "" for none."""
    name = table.written(CAUTION)
    return "" if name == NO_CAUTION or not isinstance(name, str) else name


def _is_present(table: Table, key: str) -> bool:
    """Whether the key is present, perhaps misspelt, in which case only the misspelling is reported."""
    return key in table or any(intended_name(other, [key]) for other in table.names())


def _read_blocked_typing(name: str, table: Table, flow: Flow) -> Trouble:
    blocked_for_us = table.duration(_HELD_FOR, "60 s")
    ends_script = table.boolean("ends_script", default=True)
    if flow == "none":
        what = "the line has no flow control, so the machine can't ask that nothing be typed"
        table.wrong(_HELD_FOR, what, 'flow = "xon/xoff" in [line], or delete this trouble')
    table.close()
    return Trouble(
        name=name, pattern=HARMLESS, ends_script=ends_script, blocked_for_us=blocked_for_us, words={}, do={}
    )


def whole_interruption(short: Any) -> dict[str, Any] | None:
    """Return the table for which this is short: its first line, or a list of its first and its last ones.

    Of the last ones there is one pattern, or there are blank lines.
    """
    if isinstance(short, str):
        return {"starts": short}
    if not isinstance(short, list) or len(short) < 2 or not all(isinstance(line, str) for line in short):
        return None
    first, *last = short
    if not any(last):
        return {"starts": first, "blank_lines": len(last)}
    return {"starts": first, "ends": last[0]} if len(last) == 1 else None


def read_interruption(name: str, table: Table) -> Interruption:
    """Read one broadcast that can break into anything. Adds mistakes to the table."""
    starts = table.pattern("starts", "== {text: text} ==")
    ends = [key for key in _INTERRUPTION_ENDS if key in table]
    # A misspelt key is read as the right one, so that it is reported once, as a misspelling.
    ends = ends or [
        near for key in table.names() if key != "starts" and (near := intended_name(key, _INTERRUPTION_ENDS))
    ]
    for other in ends[1:]:
        what = f"{ends[0]} already says where the interruption ends"
        table.wrong(other, what, f"either {ends[0]} or {other}, not both")
    interruption = Interruption(
        name=name,
        starts=starts,
        lines=table.integer("lines", 1, 40, 1, default=1) if "lines" in ends or not ends else 0,
        blank_lines=table.integer("blank_lines", 1, 10, 2) if "blank_lines" in ends else 0,
        ends=table.pattern("ends", "END OF MESSAGE") if "ends" in ends else None,
    )
    table.close()
    return interruption
