"""Reads home.toml: how it is found out where the console stands, and the way home from there."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from exhibit.decisions.machine.script import HOME, SILENT
from exhibit.folder.reading.machine import MachineDraft
from exhibit.folder.reading.scripts import ScriptDraft, StepDraft, check_whole, read_steps
from exhibit.folder.reading.tables import LocatedTexts, Table

FILE: Final = "home.toml"


@dataclass
class HomeDraft:
    """home.toml as its file says it."""

    table: Table
    listen_us: int = 1
    answer_us: int = 1
    within_us: int = 1
    home: LocatedTexts = field(default_factory=list)
    begins: dict[str, LocatedTexts] = field(default_factory=dict)
    ways: dict[str, list[StepDraft]] = field(default_factory=dict)

    def as_script(self) -> ScriptDraft:
        """All its steps as those of one script, for what is looked up in every script."""
        steps = [step for way in self.ways.values() for step in way]
        return ScriptDraft(HOME, self.table, self.within_us, steps=steps)

    def each_way(self) -> list[ScriptDraft]:
        """Each way by itself as a script."""
        return [
            ScriptDraft(HOME, self.table, self.within_us, steps=steps, from_landmark=landmark)
            for landmark, steps in self.ways.items()
        ]


def read_home(root: Table) -> HomeDraft:
    """Read the way home. What is wrong is added to the table's mistakes."""
    draft = HomeDraft(root)
    home = root.table("home")
    draft.listen_us = home.duration("listen", "2 s")
    draft.answer_us = home.duration("answer", "4 s")
    draft.within_us = home.duration("within", "5 min")
    draft.home = home.texts("at", '["signed-out"]')
    if "at" in home and not draft.home:
        home.wrong("at", "at names nothing", 'at = ["signed-out"]')
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
    steps = [step for way in draft.ways.values() for step in way]
    seen: set[str] = set()
    for step in steps:
        if step.name and step.name in seen:
            step.table.wrong("name", f'another step is named "{step.name}" too', f'name = "{step.name}-2"')
        seen.add(step.name)
    if home.is_present:
        check_whole(draft.as_script(), home)
    return draft


def check_home(draft: HomeDraft, machine: MachineDraft, scripts: list[str]) -> None:
    """Look up the landmarks and scripts that it names."""
    root = draft.table
    known = [*machine.landmarks, SILENT]
    for name, below in draft.home:
        root.look_up(("home", *below), name, list(machine.landmarks), "landmark")
    for script, landmarks in draft.begins.items():
        root.look_up(("begins", script), script, scripts, "script")
        for name, below in landmarks:
            root.look_up(("begins", *below), name, known, "landmark")
    for landmark in draft.ways:
        root.look_up(("ways", landmark), landmark, list(machine.landmarks), "landmark")
