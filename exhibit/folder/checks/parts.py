"""Looks up the lines and readings by which a part's own share, transfers and test are known."""

from __future__ import annotations

from exhibit.folder.reading.machine import MachineDraft


def check_parts(machine: MachineDraft) -> None:
    """Add a mistake for each reading or line of a part that the folder doesn't have."""
    numbers = [
        f"{display.name}.{reading.name}"
        for display in machine.displays.values()
        for reading in display.readings
        if reading.kind == "number"
    ]
    for draft in machine.part_drafts:
        part = machine.parts[draft.name]
        for key, name in (("share", part.share), ("transfers", part.transfers)):
            # The default is a reading of [now], where a mistake in it is reported.
            if key in draft.table:
                draft.table.look_up((key,), name, numbers, "reading of kind number (DISPLAY.READING)")
        for name, below in draft.tested:
            draft.table.look_up(below, name, machine.lines, "line")
