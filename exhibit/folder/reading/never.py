"""Reads the commands that must never be typed, and the one step of the closing that may type one of them."""

from __future__ import annotations

from typing import Final

from exhibit.decisions.machine.description import NeverLifted
from exhibit.decisions.machine.fitting import same_text
from exhibit.decisions.machine.pattern import Pattern
from exhibit.folder.reading.tables import Table
from exhibit.folder.reading.values import ValueMistake, intended_name, pattern_of

LIFTED: Final = "never_lifted"
LIFTING_SCRIPT: Final = "closing"
"""The only script that can have such a step."""
LEAST_REASON_WORDS: Final = 3


def read_never(table: Table) -> list[Pattern]:
    """Read [never]. Adds mistakes to the table."""
    never: list[Pattern] = []
    for text, below in table.texts("commands", '["WIPE {...}"]'):
        if not text.strip():
            continue  # reported by `texts`
        try:
            pattern = pattern_of(text, False)
        except ValueMistake as mistake:
            table.wrong(below, mistake.what, mistake.write_instead)
            continue
        if any(same_text(pattern, other) for other in never):
            table.wrong(below, f'"{text}" is listed twice', "nothing; delete this one")
        never.append(pattern)
    table.close()
    return never


def read_lifted(root: Table, never: list[Pattern]) -> NeverLifted | None:
    """Read [never_lifted], which may be absent. Adds mistakes to the tables."""
    # A misspelt header is read as the right one, so that it is reported once, as a misspelling.
    if not any(name == LIFTED or intended_name(name, [LIFTED]) for name in root.names()):
        return None
    table = root.table(LIFTED)
    command = table.text("command", never[0].text if never else "HALT")
    step = table.name("step", "stop-the-processor")
    reason = table.text("reason", "Without it the discs can't be stopped safely")
    if reason and len(reason.split()) < LEAST_REASON_WORDS:
        what = f'"{reason}" is too short for an engineer to judge'
        table.wrong("reason", what, 'reason = "Without it the discs can\'t be stopped safely"')
    texts = [pattern.text for pattern in never]
    if command and command not in texts:
        near = intended_name(command, texts)
        write = f'command = "{near}"' if near else f"one of: {', '.join(texts) or 'none'}"
        table.wrong("command", f'"{command}" is not one of the commands in [never]', write)
    table.close()
    return NeverLifted(command=command, step=step, reason=reason) if table.is_present else None
