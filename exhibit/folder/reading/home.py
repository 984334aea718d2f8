"""Reads home.toml: how to find out what state the console is in, and the way home from there."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from exhibit.decisions.machine.script import HOME, SILENT
from exhibit.folder.reading.machine import MachineDraft
from exhibit.folder.reading.scripts import ScriptDraft, StepDraft, check_whole, read_steps
from exhibit.folder.reading.tables import LocatedTexts, Table, check_unique_names

FILE: Final = "home.toml"


@dataclass
class HomeDraft:
    """home.toml as read."""

    table: Table
    listen_us: int = 1
    answer_us: int = 1
    within_us: int = 1
    home: LocatedTexts = field(default_factory=list)
    begins: dict[str, LocatedTexts] = field(default_factory=dict)
    ways: dict[str, list[StepDraft]] = field(default_factory=dict)

    def as_script(self) -> ScriptDraft:
        """Return all the steps as one script, for checks that go through every script."""
        steps = [step for way in self.ways.values() for step in way]
        return ScriptDraft(HOME, self.table, self.within_us, steps=steps)

    def each_way(self) -> list[ScriptDraft]:
        """Return each way home as a script of its own."""
        return [
            ScriptDraft(HOME, self.table, self.within_us, steps=steps, from_landmark=landmark)
            for landmark, steps in self.ways.items()
        ]


def read_home(root: Table) -> HomeDraft:
    """Read the way home. Adds mistakes to the table."""
    draft = HomeDraft(root)
    home = root.table("home")
    draft.listen_us = home.duration("listen", "2 s")
    draft.answer_us = home.duration("answer", "4 s")
    draft.within_us = home.duration("within", "5 min")
    draft.home = home.texts("at", '["signed-out"]', at_least_one=True)
    home.close()
    begins = root.table("begins")
    for script in begins.names():
        draft.begins[script] = begins.texts(script, f'["{SILENT}"]')
    begins.close()
    ways = root.table("ways")
    for landmark in ways.names():
        draft.ways[landmark] = read_steps(ways, landmark)
    ways.close()
    root.close()
    check_unique_names("step", draft.as_script().all_steps)
    if home.is_present:
        check_whole(draft.as_script(), home)
    return draft


def check_home(draft: HomeDraft, machine: MachineDraft, scripts: list[str]) -> None:
    """Look up the landmarks and scripts in home.toml. Adds mistakes to the draft's table."""
    root = draft.table
    known = [*machine.landmarks, SILENT]
    for name, below in draft.home:
        root.look_up(("home", *below), name, list(machine.landmarks), "landmark")
    for script, landmarks in draft.begins.items():
        root.look_up(("begins", script), script, scripts, "script")
        for name, below in landmarks:
            root.look_up(("begins", *below), name, known, "landmark")
    woken = [silence.landmark for silence in machine.silences if silence.wake]
    listed = [(("home", *below), name) for name, below in draft.home]
    listed += [(("begins", *below), name) for group in draft.begins.values() for name, below in group]
    for where, name in listed:
        if name in woken:
            what = f'nothing begins at "{name}", because the program itself presses the key that wakes it'
            root.wrong(where, what, "the landmark at which it wakes")
    for landmark in draft.ways:
        if landmark in woken:
            what = (
                f'the program itself presses the key that wakes "{landmark}", so this way is never followed'
            )
            root.wrong(
                ("ways", landmark), what, "a way from the landmark at which it wakes, and delete this one"
            )
        root.look_up(("ways", landmark), landmark, list(machine.landmarks), "landmark")
