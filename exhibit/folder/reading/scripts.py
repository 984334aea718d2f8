"""Reads the scripts' files, a step at a time, as they are written: names aren't looked up yet."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Final, Literal

from exhibit.decisions.machine.filling import numbers_named
from exhibit.decisions.machine.script import STOP, WhenLate
from exhibit.folder.reading.tables import LocatedTexts, Table
from exhibit.folder.reading.values import BY_A_PERSON, NO_BREAK, ValueMistake, intended_name, is_break

STEP_KINDS: Final = {
    "hands_on": ("hands_on", "caution", "within"),
    "pack": ("pack", "words", "caution", "within"),
    "pack_out": ("pack_out", "words", "caution", "within"),
    "type": ("at", "type", "until", "within"),
    "secret": ("at", "secret", "until", "within"),
    "press": ("at", "press", "until", "within"),
    "wait": ("wait", "within"),
    "pause": ("pause",),
    "read": ("read", "within"),
    "read_if_shown": ("read_if_shown", "within"),
    "caption": ("caption",),
}
"""What a step can do, by the key that says so, and the keys that it then has beside its name."""
IF_AT: Final = "if_at"
"""Stands in place of `at` in a step that is left out where something else stands."""
EXAMPLES: Final = {
    "hands_on": "turn-the-key",
    "caution": "spinning",
    "within": "30 s",
    "pack": "work-2",
    "pack_out": "work-2",
    "words": "work-2-in",
    "type": "DRIVES",
    "secret": "keeper",
    "press": "space",
    "pause": "5 s",
    "read": "board",
    "read_if_shown": "board",
}
BY_HAND: Final = ("hands_on", "pack", "pack_out")
LATE: Final = "late"
"""What becomes of a step whose time is up. The only key that a step may lack: the script's stands for it."""
_LATE: Final = ("wait on", "again once", "again 2 times", "leave out", "stop", "ask")
_PLAIN: Final[tuple[Literal["wait on", "leave out", "stop", "ask"], ...]] = (
    "wait on",
    "leave out",
    "stop",
    "ask",
)
_OR: Final = '"wait on", "again 2 times", "leave out", "stop" or "ask"'
_AGAIN: Final = re.compile(r"again (once|[2-9] times)")


@dataclass
class StepDraft:
    """A step as its table says it, and that table, to which mistakes are added later on."""

    table: Table
    in_tidy_up: bool
    name: str = ""
    kind: str = ""
    """One of the keys of STEP_KINDS; empty when the table doesn't say what is done."""
    texts: dict[str, str] = field(default_factory=dict)
    lists: dict[str, LocatedTexts] = field(default_factory=dict)
    within_us: int = 1
    pause_us: int = 1
    only_if_there: bool = False
    late: WhenLate | None = None
    """None where it says nothing of its own."""
    lifts: str = ""
    """The pattern of what is never typed that it may type, by machine.toml."""

    @property
    def at_key(self) -> str:
        """Under which key it says where it is done."""
        return IF_AT if IF_AT in self.lists else "at"

    @property
    def until(self) -> LocatedTexts:
        """What is waited for."""
        return self.lists.get("wait" if self.kind == "wait" else "until", [])


@dataclass
class ScriptDraft:
    """A script as its file says it."""

    name: str
    table: Table
    within_us: int = 1
    late: WhenLate = STOP
    steps: list[StepDraft] = field(default_factory=list)
    tidy_up: list[StepDraft] = field(default_factory=list)
    from_landmark: str = ""
    """Of a way home: where it begins."""

    @property
    def all_steps(self) -> list[StepDraft]:
        """The steps and those of the tidy-up, in order."""
        return [*self.steps, *self.tidy_up]


def read_script(name: str, root: Table) -> ScriptDraft:
    """Read a script's file. What is wrong is added to the table's mistakes."""
    draft = ScriptDraft(name, root)
    script = root.table("script")
    draft.within_us = script.duration("within", "20 min")
    draft.late = script.read(LATE, "stop", STOP, when_late)
    script.close()
    draft.steps = read_steps(root, "step")
    draft.tidy_up = read_steps(root, "tidy_up", in_tidy_up=True)
    if "step" in root and not draft.steps:
        root.wrong("step", "the script has no step", "[[step]]")
    root.close()
    _check_typed_again(draft)
    seen: set[str] = set()
    for step in draft.all_steps:
        if step.name and step.name in seen:
            step.table.wrong("name", f'another step is named "{step.name}" too', f'name = "{step.name}-2"')
        seen.add(step.name)
    if script.is_present:
        check_whole(draft, script)
    return draft


def check_whole(draft: ScriptDraft, script: Table) -> None:
    """No step may take longer than the whole script."""
    limited = [step for step in draft.all_steps if "within" in STEP_KINDS.get(step.kind, ())]
    longer = [step for step in limited if step.within_us > draft.within_us > 1]
    if len(longer) > max(1, len(limited) // 2):
        what = f"{len(longer)} steps may take longer than the whole script"
        script.wrong("within", what, 'within = "20 min", or another limit longer than that of each step')
        return
    for step in longer:
        step.table.wrong(
            "within",
            "the step may take longer than the whole script",
            "a shorter within here, or a longer one in [script]",
        )


def read_steps(root: Table, key: str, *, in_tidy_up: bool = False) -> list[StepDraft]:
    """Read the steps under this key."""
    return [_read_step(table, in_tidy_up=in_tidy_up) for table in root.tables(key)]


def _read_step(table: Table, *, in_tidy_up: bool) -> StepDraft:
    step = StepDraft(table, in_tidy_up)
    step.name = table.name("name", "show-the-board")
    said = [key for key in STEP_KINDS if key in table]
    for key in (key for key in table.names() if key != "name" and is_break(key)):
        table.allow(key)
        table.wrong(key, NO_BREAK, BY_A_PERSON)
        if not said:
            table.allow(*table.names())
            table.close()
            return step
    if not said:
        step.kind = _intended_kind(table)
        if not step.kind:
            table.allow(*table.names())
            table.wrong((), f"{table.title} doesn't say what is done", f"one of: {', '.join(STEP_KINDS)}")
            table.close()
            return step
    else:
        step.kind = said[0]
    for other in said[1:]:
        table.wrong(
            other,
            f"a step does one thing, and this one has {said[0]} already",
            f"a step of its own for {other}",
        )
        table.allow(other)
    if in_tidy_up and step.kind in BY_HAND:
        table.wrong(
            step.kind,
            "nothing is done by hand when a script is tidied up: nobody may be there",
            "a [[step]], or nothing",
        )
    if in_tidy_up and IF_AT in table:
        table.wrong(IF_AT, "in a tidy-up every step is left out where something else stands", "at, as ever")
    # A misspelt if_at is reported as what it was meant to be.
    lacks_at = "at" in STEP_KINDS[step.kind] and "at" not in table
    if_at = IF_AT in table or (lacks_at and any(intended_name(key, [IF_AT]) for key in table.names()))
    step.only_if_there = if_at or step.kind == "read_if_shown"
    for key in STEP_KINDS[step.kind]:
        _read_key(step, IF_AT if key == "at" and step.only_if_there else key)
    others = [key for key in table.names() if key not in ("name", IF_AT, *STEP_KINDS[step.kind])]
    if "within" in STEP_KINDS[step.kind] and any(intended_name(key, [LATE]) for key in others):
        _read_late(step)
    table.close()
    return step


def when_late(text: str) -> WhenLate:
    """What becomes of a late step, as it is written. Raises ValueMistake."""
    again = _AGAIN.fullmatch(text)
    if again is not None:
        return WhenLate("again", 1 if again[1] == "once" else int(again[1][0]))
    for then in _PLAIN:
        if text == then:
            return WhenLate(then)
    near = intended_name(text, _LATE)
    raise ValueMistake(f'"{text}" is nothing that becomes of a late step', f'"{near}"' if near else _OR)


def late_of(step: StepDraft, script: ScriptDraft) -> WhenLate:
    """What becomes of this step when it is late.

    In a tidy-up only what the step itself says counts; nor is anything left out or typed again by the
    script's word that can't be (see `_read_late`).
    """
    if step.late is not None:
        return step.late
    if step.in_tidy_up or _why_not_so(step, script.late):
        return STOP
    return script.late


def _read_late(step: StepDraft) -> None:
    late = step.table.read(LATE, "wait on", STOP, when_late)
    why = _why_not_so(step, late)
    if why:
        step.table.wrong(LATE, why, 'late = "wait on", or "stop"')
    step.late = late if LATE in step.table else None


def _check_typed_again(draft: ScriptDraft) -> None:
    """A command that begins a job, say, would begin a second one; and only of one is the number known."""
    named = {name for step in draft.all_steps for name, _ in numbers_named(step.texts.get("type", ""))}
    for step in draft.all_steps:
        if step.name in named and late_of(step, draft).then == "again":
            step.table.wrong(
                LATE if LATE in step.table else (),
                "a step whose number another step names can't be typed again: of what was begun twice only "
                "one number would be known",
                'late = "wait on", or "stop"',
            )


def _why_not_so(step: StepDraft, late: WhenLate) -> str:
    """Why this can't become of this step; empty when it can."""
    if late.then == "again" and step.kind != "type":
        return "only a command can be typed again"
    if late.then == "leave out" and step.kind in BY_HAND:
        return "what a person does isn't left out because nobody has said that it is done"
    if step.in_tidy_up and late.then in ("leave out", "ask"):
        what = "left out" if late.then == "leave out" else "asked about"
        return f"in a tidy-up nothing is {what}: a step that is late fails, and the next one is tried"
    return ""


def _read_key(step: StepDraft, key: str) -> None:
    table = step.table
    if key == "within":
        step.within_us = table.duration(key, EXAMPLES[key])
    elif key == "pause":
        step.pause_us = table.duration(key, EXAMPLES[key])
    elif key in ("at", IF_AT, "until", "wait"):
        listed = table.texts(key, f'["{"starter" if key in ("at", IF_AT) else "desk"}"]', one_alone=True)
        step.lists[key] = listed
        anywhere = step.kind == "press" and ((key == "at" and step.in_tidy_up) or key == IF_AT)
        if key in table and not listed and not anywhere:
            table.wrong(key, f"{key} names nothing", f'{key} = ["starter"]')
    elif key == "type":
        step.texts[key] = table.text(key, EXAMPLES[key])
    elif key == "caption" and step.kind == "caption":
        step.texts[key] = table.name(key, "why-we-wait")
    else:
        step.texts[key] = table.name(key, EXAMPLES[key])


def _intended_kind(table: Table) -> str:
    """What a step does whose telling key is misspelt; empty if nothing is near."""
    ordinary = {"name", "at", IF_AT, "until", "within", "words", "caution"}
    for key in table.names():
        near = "" if key in ordinary else intended_name(key, STEP_KINDS)
        if near:
            return near
    return ""
