"""Reads home.toml: how to find out what state the console is in, and the way home from there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Final

from exhibit.decisions.machine.filling import numbers_named
from exhibit.decisions.machine.script import HOME, SILENT
from exhibit.folder.reading.machine import MachineDraft
from exhibit.folder.reading.mistakes import check_unique_names
from exhibit.folder.reading.scripts import BY_HAND, check_whole, read_steps
from exhibit.folder.reading.step_drafts import ScriptDraft, StepDraft
from exhibit.folder.reading.tables import LocatedTexts, Table
from exhibit.folder.reading.usual import AT_CONSOLE, Around, UsualSteps

FILE: Final = "home.toml"


@dataclass
class HomeDraft:
    """home.toml as read."""

    table: Table
    title: str = ""
    """What people call the way home, if that stands here."""
    listen_us: int = 1
    answer_us: int = 1
    within_us: int = 1
    home: LocatedTexts = field(default_factory=list)
    begins: dict[str, LocatedTexts] = field(default_factory=dict)
    ways: dict[str, list[StepDraft]] = field(default_factory=dict)

    def as_script(self) -> ScriptDraft:
        """Return all the steps as one script, for checks that go through every script."""
        steps = [step for way in self.ways.values() for step in way]
        return ScriptDraft(HOME, self.table, self.within_us, steps=steps, title=self.title)

    def each_way(self) -> list[ScriptDraft]:
        """Return each way home as a script of its own."""
        return [
            ScriptDraft(HOME, self.table, self.within_us, steps=steps, from_landmark=landmark)
            for landmark, steps in self.ways.items()
        ]


def read_home(
    root: Table, machine: MachineDraft | None, scripts: Mapping[str, ScriptDraft | None]
) -> HomeDraft:
    """Read the way home. Adds mistakes to the table."""
    draft = HomeDraft(root)
    home = root.table("home")
    draft.listen_us = home.duration("listen", "5 s", default="5 s")
    draft.answer_us = home.duration("answer", "5 s", default="5 s")
    draft.within_us = home.duration("within", "5 min", default="5 min")
    draft.home = home.texts("at", '["signed-out"]', at_least_one=True)
    like = home.text_if_written("tidy_up", "round")
    draft.title = home.text_if_written("title", "Finding the way home") or ""
    home.close()
    begins = root.table("begins", optional=True)
    for script in begins.names():
        draft.begins[script] = begins.texts(script, f'["{SILENT}"]')
    begins.close()
    if (opening := _usual_opening(draft, machine, scripts)) and begins.is_sure("opening"):
        draft.begins["opening"] = [(name, ("opening", place)) for place, name in enumerate(opening)]
        root.defaults["begins", "opening"] = opening
    ways = root.table("ways", optional=True)
    names = ways.names()
    lists = [ways.data[name] for name in names]
    usual = UsualSteps(
        lists, home.written("within"), AT_CONSOLE, Around(places=machine.places() if machine else ())
    )
    for landmark in names:
        usual.showing = list(machine.landmarks.get(landmark, ())) or None if machine else None
        draft.ways[landmark] = read_steps(ways, landmark, usual)
    ways.close()
    if like is not None and home.look_up(("tidy_up",), like, scripts, "script") and machine is not None:
        other = scripts.get(like)
        _add_tidy_up(draft, other.tidy_up if other is not None else [], machine, usual)
    root.close()
    check_unique_names("step", draft.as_script().all_steps)
    if home.is_present and home.is_sure("within"):
        check_whole(draft.as_script(), home)
    return draft


def places_at_home(root: Table | None, machine: MachineDraft, script: str) -> list[str] | None:
    """Return the prompts and displays that are showing when a script begins; None if that isn't known."""
    home = root.data.get("home") if root is not None else None
    begins = root.data.get("begins") if root is not None else None
    at = home.get("at") if isinstance(home, Mapping) else None
    if script == "opening" or (isinstance(begins, Mapping) and script in begins) or not isinstance(at, list):
        return None
    showing = [place for name in at for place in machine.landmarks.get(f"{name}", ())]
    return showing if showing and set(showing) <= {*machine.places()} else None


def _usual_opening(
    draft: HomeDraft, machine: MachineDraft | None, scripts: Mapping[str, ScriptDraft | None]
) -> list[str]:
    """Return where an opening begins that a person begins: with a silent machine, or at home."""
    opening = scripts.get("opening")
    if opening is None or machine is None or "opening" in draft.begins or machine.silences:
        return []
    is_by_hand = bool(opening.steps) and opening.steps[0].kind in BY_HAND
    return [SILENT, *(name for name, _ in draft.home)] if is_by_hand else []


def _add_tidy_up(draft: HomeDraft, steps: list[StepDraft], machine: MachineDraft, usual: UsualSteps) -> None:
    """Add a way home from each landmark that has none: the first step of the tidy-up that applies there.

    A step that needs a number isn't one of them, since nobody knows that number any more.
    """
    for landmark, places in machine.landmarks.items():
        if landmark in draft.ways or landmark in [name for name, _ in draft.home]:
            continue
        for step in steps:
            at = [(name, below) for name, below in step.lists.get("at", []) if name in places]
            if at and not numbers_named(step.texts.get("type", "")):
                name = usual.free_name(f"{step.name}-{landmark}")
                lists = {**step.lists, "at": at}
                way = replace(step, name=name, in_tidy_up=False, lists=lists, caption="", pause_us=1)
                draft.ways[landmark] = [way]
                break


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
    for landmark in root.table("ways", optional=True).names():
        root.look_up(("ways", landmark), landmark, list(machine.landmarks), "landmark")
