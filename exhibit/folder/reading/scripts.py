"""Reads the scripts' files. The names in them are looked up later, by `checks`."""

from __future__ import annotations

import re
from collections.abc import Collection
from itertools import zip_longest
from typing import Final, Literal

from exhibit.decisions.machine.filling import numbers_named
from exhibit.decisions.machine.script import STOP, WhenLate
from exhibit.folder.reading.mistakes import check_unique_names
from exhibit.folder.reading.panel.acts import read_acts, read_left
from exhibit.folder.reading.step_drafts import (
    IF_AT,
    ScriptDraft,
    StepDraft,
    name_by_lines,
    nudged_before,
    paused,
    typed_before,
)
from exhibit.folder.reading.tables import Table
from exhibit.folder.reading.usual import AT_CONSOLE, WHOLE, Around, UsualSteps, pause_for
from exhibit.folder.reading.values import BY_A_PERSON, NO_BREAK, ValueMistake, intended_name, is_break
from exhibit.folder.reading.visitors.chapters import read_chapters

TOO_EARLY_SHOWS: Final = "too_early_shows"
"""The troubles that show that a step by hand was done too early."""
AFTER: Final = ("too_early", "didnt", TOO_EARLY_SHOWS)
"""The keys of a step by hand for what follows if it was done too early or in vain; each can be left out."""
STEP_KINDS: Final = {
    "hands_on": ("hands_on", "caution", "within", *AFTER),
    "pack": ("pack", "words", "caution", "within", *AFTER),
    "pack_out": ("pack_out", "words", "caution", "within", *AFTER),
    "type": ("at", "type", "until", "within"),
    "secret": ("at", "secret", "until", "within"),
    "press": ("at", "press", "until", "within"),
    "wait": ("wait", "within", "nudge"),
    "pause": ("pause",),
    "read": ("read", "within"),
    "read_if_shown": ("read_if_shown", "within"),
    "caption": ("caption",),
}
"""The kinds of step, by the key that gives the kind, each with the keys that it has besides its name."""
EXAMPLES: Final = {
    "hands_on": "turn-the-key",
    "caution": "spinning",
    "within": "30 s",
    "pack": "work-2",
    "pack_out": "work-2",
    "words": "work-2-in",
    "too_early": "wait-for-the-lamp",
    "didnt": "look-at-the-switches",
    TOO_EARLY_SHOWS: "not-ready",
    "type": "DRIVES",
    "secret": "keeper",
    "press": "space",
    "pause": "5 s",
    "read": "board",
    "read_if_shown": "board",
}
WORDS: Final = {
    "hands_on": "hands_on",
    "words": "hands_on",
    "too_early": "hands_on",
    "didnt": "hands_on",
    "caution": "cautions",
}
"""The keys of a step that name words, with the section of the languages' files. A text with a space in it
is the words themselves, which is allowed in a folder of one language."""
BY_HAND: Final = ("hands_on", "pack", "pack_out")
LATE: Final = "late"
"""What happens when a step's time is up. If a step doesn't say it, the script's applies."""
_LATE: Final = ("wait on", "again once", "again 2 times", "again, then ask", "leave out", "stop", "ask")
_PLAIN: Final[tuple[Literal["wait on", "leave out", "stop", "ask"], ...]] = (
    "wait on",
    "leave out",
    "stop",
    "ask",
)
_OR: Final = '"wait on", "again 2 times", "leave out", "stop" or "ask"'
_AGAIN: Final = re.compile(r"again(?: (?P<often>once|[2-9] times)(?P<ask>, then ask)?|, then ask)")


def read_script(name: str, root: Table, around: Around) -> ScriptDraft:
    """Read a script's file. Adds mistakes to the table."""
    draft = ScriptDraft(name, root)
    script = root.table("script", optional=True)
    draft.within_us = script.duration("within", WHOLE, default=WHOLE)
    script.duration("step_within", AT_CONSOLE, default=AT_CONSOLE)
    lists = [root.data.get(key) for key in ("step", "tidy_up")]
    usual = UsualSteps(lists, script.written("within"), script.written("step_within"), around)
    draft.late = script.read(LATE, "stop", STOP, when_late, default="stop")
    draft.title = script.text_if_written("title", "What the docent reads") or ""
    draft.steps = _read_first_words(script, usual)
    script.close()
    draft.steps += read_steps(root, "step", usual)
    usual.by_hand()
    draft.tidy_up = read_steps(root, "tidy_up", usual, in_tidy_up=True)
    draft.chapters = read_chapters(name, root, draft.chapter_words)
    if root.is_empty("step"):
        root.wrong("step", "the script has no steps", "[[step]]")
    root.close()
    name_by_lines(draft)
    _check_typed_again(draft)
    check_unique_names("step", draft.all_steps)
    if root.is_sure("script") and script.is_sure("within"):
        check_whole(draft, draft.with_limit)
    return draft


def check_whole(draft: ScriptDraft, script: Table) -> None:
    """Add a mistake for each step with a longer limit than the whole script, or one for many such steps."""
    limited = [step for step in draft.all_steps if "within" in STEP_KINDS.get(step.kind, ())]
    longer = [step for step in limited if step.within_us > draft.within_us > 1]
    if len(longer) > max(1, len(limited) // 2):
        what = f"{len(longer)} steps have a longer limit than the whole script"
        script.wrong("within", what, 'within = "20 min", or any limit longer than those of the steps')
        return
    for step in longer:
        step.table.wrong(
            "within",
            "the step has a longer limit than the whole script",
            "a shorter within here, or a longer one in [script]",
        )


def read_steps(root: Table, key: str, usual: UsualSteps, *, in_tidy_up: bool = False) -> list[StepDraft]:
    """Read the steps under this key. Adds mistakes to their tables."""
    steps: list[StepDraft] = []
    tables = list(root.tables(key, optional=in_tidy_up))
    for table, following in zip_longest(tables, tables[1:]):
        keys = _keys_and_texts(following)
        step = _read_step(table, usual, keys, in_tidy_up=in_tidy_up)
        steps += [*nudged_before(step, usual), *typed_before(step, usual), step, *paused(step, usual)]
        usual.note_started(step)
        if step.kind in BY_HAND or not step.kind:
            usual.by_hand()
        elif step.kind in ("type", "secret", "press", "wait"):
            at = [name for name, _ in step.lists.get(step.at_key, [])]
            until = [name for name, _ in step.until]
            usual.follow(step.kind, at, until, may_be_left_out=step.only_if_there)
    return steps


def _keys_and_texts(table: Table | None) -> list[str]:
    """Return the keys of a step and the names that stand in it alone; nothing if there is no such step."""
    return [] if table is None else [*table.names(), *map(str, table.data.values())]


def _read_first_words(script: Table, usual: UsualSteps) -> list[StepDraft]:
    """Read the caption that appears when the script begins, which stands in [script]."""
    if not any(intended_name(key, ["caption"]) for key in script.names()):
        return []
    step = StepDraft(script, in_tidy_up=False, kind="caption")
    if "caption" in script:
        step.name = usual.name(script.data, "caption")
    _read_key(step, "caption", usual)
    _read_caption(step, usual)
    return [step, *paused(step, usual)]


def _read_step(table: Table, usual: UsualSteps, following: Collection[str], *, in_tidy_up: bool) -> StepDraft:
    step = StepDraft(table, in_tidy_up)
    kinds = _kinds(table)
    default = None if "name" in table else usual.name(table.data, kinds[0] if kinds else "")
    step.name = table.name("name", "show-the-board", default=default)
    for key in (key for key in table.names() if key != "name" and is_break(key)):
        table.allow(key)
        table.wrong(key, NO_BREAK, BY_A_PERSON)
        if not kinds:
            table.allow(*table.names())
            table.close()
            return step
    step.kind = kinds[0] if kinds else _intended_kind(table)
    if not step.kind:
        table.allow(*table.names())
        table.wrong((), f"{table.title} doesn't say what to do", f"one of: {', '.join(STEP_KINDS)}")
        table.close()
        return step
    for other in kinds[1:]:
        table.wrong(
            other,
            f"a step can do only one thing, and this one already has {kinds[0]}",
            f"a separate step for {other}",
        )
        table.allow(other)
    if in_tidy_up and step.kind in BY_HAND:
        table.wrong(
            step.kind,
            "a tidy-up can't contain anything that is done by hand, because nobody may be there to do it",
            "a [[step]], or nothing",
        )
    if in_tidy_up and IF_AT in table:
        what = "in a tidy-up every step is left out if something else is showing, so `at` is enough"
        table.wrong(IF_AT, what, "at, in place of if_at")
    # A misspelt if_at is read as the right one, so that it is reported once, as a misspelling.
    lacks_at = "at" in STEP_KINDS[step.kind] and "at" not in table
    if_at = IF_AT in table or (lacks_at and any(intended_name(key, [IF_AT]) for key in table.names()))
    step.only_if_there = if_at or step.kind == "read_if_shown"
    for key in STEP_KINDS[step.kind]:
        _read_key(step, IF_AT if key == "at" and step.only_if_there else key, usual, following)
    _read_caption(step, usual)
    if step.kind in BY_HAND:
        step.panel = read_acts(table) if step.kind == "hands_on" else []
        step.leaves = read_left(table)
    others = [key for key in table.names() if key not in ("name", IF_AT, *STEP_KINDS[step.kind])]
    if "within" in STEP_KINDS[step.kind] and any(intended_name(key, [LATE]) for key in others):
        _read_late(step)
    table.close()
    return step


def _kinds(table: Table) -> list[str]:
    """Return the keys that say what the step does: one, if all is well.

    Words for visitors can stand in any step, and so can the pause in which they are read.
    """
    kinds = [key for key in STEP_KINDS if key in table]
    has_words = " " in str(table.data.get("caption", ""))
    main = [kind for kind in kinds if kind != "pause" and not (kind == "caption" and has_words)]
    return main or (["caption"] if has_words else kinds)


def _read_caption(step: StepDraft, usual: UsualSteps) -> None:
    """Read the words for visitors that stand in the step, and its pause."""
    table = step.table
    words = str(table.data.get("caption", ""))
    if " " in words.strip():
        step.caption = table.text("caption", "What people read")
        step.part = table.name("part", "console", default=usual.part_of(step))
        step.source = table.text_if_written("source", "Where this is written") or ""
        step.pause_us = table.duration("pause", "5 s", default=pause_for(step.caption))
    elif step.kind != "pause" and ("pause" in table or usual.pause(step) is not None):
        step.pause_us = table.duration("pause", "5 s", default=usual.pause(step))


def when_late(text: str) -> WhenLate:
    """Return what happens to a late step, from the value of `late`. Raises ValueMistake."""
    again = _AGAIN.fullmatch(text)
    if again is not None:
        often = again["often"] or "once"
        return WhenLate("again", 1 if often == "once" else int(often[0]), text.endswith("ask"))
    for then in _PLAIN:
        if text == then:
            return WhenLate(then)
    near = intended_name(text, _LATE)
    raise ValueMistake(f'"{text}" is not something a late step can do', f'"{near}"' if near else _OR)


def late_of(step: StepDraft, script: ScriptDraft) -> WhenLate:
    """Return what happens to this step if it is late.

    The script's `late` doesn't apply to the tidy-up, or to a step that can't be late in that way.
    """
    if step.late is not None:
        return step.late
    if step.in_tidy_up:
        return STOP
    # A secret is typed again only if its own step says so: a machine may count the attempts.
    if _why_impossible(step, script.late) or (script.late.then == "again" and step.kind == "secret"):
        return WhenLate("ask") if script.late.then_ask else STOP
    return script.late


def _read_late(step: StepDraft) -> None:
    late = step.table.read(LATE, "wait on", STOP, when_late)
    why = _why_impossible(step, late)
    if why:
        step.table.wrong(LATE, why, 'late = "wait on" or late = "stop"')
    step.late = late if LATE in step.table else None


def _check_typed_again(draft: ScriptDraft) -> None:
    """Add a mistake for each step that is typed again although another step uses its number.

    Typing it again can start a second job, and only one of the two numbers would be known.
    """
    named = {name for step in draft.all_steps for name, _ in numbers_named(step.texts.get("type", ""))}
    for step in draft.all_steps:
        if step.name in named and late_of(step, draft).then == "again":
            step.table.wrong(
                LATE if LATE in step.table else (),
                "this step can't be typed again, because another step uses its number: if a job was started "
                "twice, only one number would be known",
                'late = "wait on" or late = "stop"',
            )


def _why_impossible(step: StepDraft, late: WhenLate) -> str:
    """Return why this step can't be late in that way; "" if it can."""
    if late.then == "again" and step.kind not in ("type", "secret"):
        return "only a command or a secret can be typed again"
    if late.then == "leave out" and step.kind in BY_HAND:
        return "a step that a person does can't be left out: only that person knows whether it was done"
    if step.in_tidy_up and (late.then in ("leave out", "ask") or late.then_ask):
        what = "left out because it is late" if late.then == "leave out" else "asked about"
        return f"in a tidy-up no step is {what}: it fails, and the next one is tried"
    return ""


def _read_key(step: StepDraft, key: str, usual: UsualSteps, following: Collection[str] = ()) -> None:
    table = step.table
    if key in AFTER and not any(intended_name(name, [key]) for name in table.names()):
        return
    if key == TOO_EARLY_SHOWS:
        step.lists[key] = table.texts(key, f'["{EXAMPLES[key]}"]', at_least_one=True, one_alone=True)
    elif key == "nudge":
        step.is_nudged = table.boolean(key, default=False)
    elif key == "within":
        step.within_us = table.duration(key, EXAMPLES[key], default=usual.within(step.kind))
    elif key == "pause":
        step.pause_us = table.duration(key, EXAMPLES[key])
    elif key in ("at", IF_AT, "until", "wait"):
        example = f'["{"starter" if key in ("at", IF_AT) else "desk"}"]'
        default = None
        if key == "at":
            default = usual.showing
        elif key == "until":
            default = usual.until(step, following)
        if step.kind == "press" and key == "at" and table.is_empty(key):
            example += f", or {IF_AT} = [] if the key is pressed where nothing known is showing"
        anywhere = step.kind == "press" and ((key == "at" and step.in_tidy_up) or key == IF_AT)
        step.lists[key] = table.texts(
            key, example, at_least_one=not anywhere, one_alone=True, default=default
        )
    elif key == "type" and isinstance(table.data.get(key), list):
        commands = [text for text, _ in table.texts(key, f'["{EXAMPLES[key]}"]', at_least_one=True)]
        step.texts[key] = commands[-1] if commands else ""
        step.commands_before = commands[:-1]
    elif key == "type" or key == "press":
        step.texts[key] = table.text(key, EXAMPLES[key])
    elif key == "caption" and " " in str(table.data.get(key, "")):
        pass  # _read_caption reads the words
    elif key == "caption" and step.kind == "caption":
        step.texts[key] = table.name(key, "why-we-wait")
    elif key in WORDS and " " in str(table.data.get(key, "")):
        step.texts[key] = table.text(key, EXAMPLES[key])
    else:
        step.texts[key] = table.name(key, EXAMPLES[key])


def _intended_kind(table: Table) -> str:
    """Return the kind of a step whose key for it is misspelt; "" if no key is close to one."""
    ordinary = {"name", "at", IF_AT, "until", "within", "words", "caution"}
    for key in table.names():
        near = "" if key in ordinary else intended_name(key, STEP_KINDS)
        if near:
            return near
    return ""
