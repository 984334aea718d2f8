"""What is kept of a step or a script as read, and the further steps for which one table can stand."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Final

from exhibit.decisions.machine.filling import numbers_named
from exhibit.decisions.machine.script import HOME, STOP, WhenLate
from exhibit.facts.parts_and_cards import PanelAct
from exhibit.folder.reading.languages import Beside
from exhibit.folder.reading.panel.acts import ActDraft, Left
from exhibit.folder.reading.tables import LocatedTexts, Table
from exhibit.folder.reading.usual import NO_KEY, UsualSteps, as_name
from exhibit.folder.reading.visitors.chapters import ChapterDraft

IF_AT: Final = "if_at"
"""Replaces `at` in a step that is left out if something else is showing."""


@dataclass
class StepDraft:
    """A step as read, and its table, to which mistakes are added later."""

    table: Table
    in_tidy_up: bool
    name: str = ""
    kind: str = ""
    """One of the keys of STEP_KINDS; "" if the table doesn't say what to do."""
    texts: dict[str, str] = field(default_factory=dict)
    lists: dict[str, LocatedTexts] = field(default_factory=dict)
    within_us: int = 1
    """1 if the file gives no limit, or none that can be read: that is a mistake already."""
    pause_us: int = 1
    only_if_there: bool = False
    is_nudged: bool = False
    """Whether the nudge is typed before the wait, if nothing known is showing."""
    late: WhenLate | None = None
    """None if the step has no `late` of its own."""
    commands_before: list[str] = field(default_factory=list)
    """Commands that are typed before this one, at the same prompt."""
    caption: str = ""
    """Words that stand in the step, for visitors to read when it is done."""
    part: str = ""
    source: str = ""
    """What these words are about, and where a background caption is written."""
    panel: list[ActDraft] = field(default_factory=list)
    acts: list[PanelAct] = field(default_factory=list)
    """What is done at the machine's front: as read, and as it is at this machine."""
    leaves: Left = ""
    """The state in which a person who does the step sees to it that the machine is left."""
    lifts: str = ""
    """The one pattern of [never] whose commands machine.toml lets this step type; usually ""."""

    @property
    def at_key(self) -> str:
        """The key that says what must be showing: `at` or `if_at`."""
        return IF_AT if IF_AT in self.lists else "at"

    @property
    def until(self) -> LocatedTexts:
        """What the step waits for."""
        return self.lists.get("wait" if self.kind == "wait" else "until", [])


@dataclass
class ScriptDraft:
    """A script as read."""

    name: str
    table: Table
    within_us: int = 1
    late: WhenLate = STOP
    steps: list[StepDraft] = field(default_factory=list)
    tidy_up: list[StepDraft] = field(default_factory=list)
    title: str = ""
    """What people call it, if that stands in its file."""
    chapters: list[ChapterDraft] = field(default_factory=list)
    chapter_words: list[Beside] = field(default_factory=list)
    """The words of chapters that stand in its file."""
    from_landmark: str = ""
    """For a way home: the landmark where it begins."""

    @property
    def with_limit(self) -> Table:
        """The table that a mistake in the limit of the whole script is reported at."""
        inside = self.table.table("home" if self.name == HOME else "script", optional=True)
        return inside if inside.is_present else self.table

    @property
    def all_steps(self) -> list[StepDraft]:
        """The steps and those of the tidy-up, in order."""
        return [*self.steps, *self.tidy_up]


def paused(step: StepDraft, usual: UsualSteps) -> list[StepDraft]:
    """Return the pause in which people read the caption of a step."""
    if step.pause_us == 1 or step.kind == "pause":
        return []
    name = usual.free_name(f"read-{step.name}")
    return [StepDraft(step.table, step.in_tidy_up, name, "pause", pause_us=step.pause_us)]


def nudged_before(step: StepDraft, usual: UsualSteps) -> list[StepDraft]:
    """Return the step that types the nudge before a wait, if nothing known is showing."""
    if not step.is_nudged:
        return []
    key = usual.around.nudge
    if key == NO_KEY or step.in_tidy_up:
        what = "in a tidy-up nothing is typed to make a prompt appear"
        if key == NO_KEY:
            what = "[typing] names no key that makes a prompt appear"
        step.table.wrong("nudge", what, "nothing; delete this key")
        return []
    lists = {IF_AT: [], "until": step.lists.get("wait", [])}
    name = usual.free_name(f"press-{as_name(key)}")
    press = replace(step, name=name, kind="press", texts={"press": key}, lists=lists, only_if_there=True)
    return [replace(press, caption="", source="", pause_us=1)]


def typed_before(step: StepDraft, usual: UsualSteps) -> list[StepDraft]:
    """Return the steps for all but the last of several commands, each of which ends at the prompt again."""
    at = step.lists.get(step.at_key, [])
    return [
        replace(
            step,
            name=usual.free_name(as_name(command) or "type"),
            texts={"type": command},
            lists={step.at_key: at, "until": at},
            pause_us=1,
            caption="",
        )
        for command in step.commands_before
    ]


def name_by_lines(draft: ScriptDraft) -> None:
    """Give each {LINE.FIELD} in a command the name of the only step that waits for that line."""
    names = {step.name for step in draft.all_steps}
    for step in draft.all_steps:
        command = step.texts.get("type", "")
        for line, place in numbers_named(command):
            waits = [one.name for one in draft.all_steps if line in [name for name, _ in one.until]]
            if line not in names and len(waits) == 1:
                command = command.replace(f"{{{line}.{place}}}", f"{{{waits[0]}.{place}}}")
                step.texts["type"] = command
