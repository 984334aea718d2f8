"""Finds patterns that hide one another, and keys that can't do what they are for."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import Final

from exhibit.decisions.machine.filling import PLACE
from exhibit.decisions.machine.fitting import can_both_fit, same_text, without_names
from exhibit.decisions.machine.pattern import Pattern, kind_named
from exhibit.folder.reading.machine import MachineDraft
from exhibit.folder.reading.mistakes import Subpath
from exhibit.folder.reading.step_drafts import ScriptDraft
from exhibit.folder.reading.tables import HARMLESS

FLOW_KEYS: Final = {b"\x13": "control S", b"\x11": "control Q"}
"""The keys that stop and restart the output if the line has flow control (ISO/IEC 646: DC3 and DC1)."""
SAMPLES: Final = {
    "number": ("1", "-12.5", "9" * 15),
    "word": ("1", "X-12.5,", "Q" * 40),
    "text": ("1", "A -12.5, B", "Q" * 80),
    "...": ("", "A -12.5, B", "Q" * 200),
}
"""Extreme values for each kind of place: the shortest, the oddest and the longest."""
SAMPLES_EACH: Final = 3


def check_patterns(machine: MachineDraft) -> None:
    """Add a mistake for each pattern that can never be recognised, or can't be told from another."""
    table = machine.table
    for first, later in combinations(machine.prompts, 2):
        one, two = machine.prompts[first].pattern, machine.prompts[later].pattern
        if hides(one, two) and one.own_text >= two.own_text:
            table.wrong(
                ("prompts", later, "line"),
                f'the prompt "{later}" is never recognised, but taken for "{first}", which comes first',
                f"one prompt for both, or [prompts.{later}] before [prompts.{first}]",
            )
        elif HARMLESS not in (one, two) and one.own_text == two.own_text and can_both_fit(one, two):
            what = f'the same line can fit the prompts "{first}" and "{later}"; the first then counts'
            table.advise(("prompts", later, "line"), what, "more text of its own in the one that is meant")
    known: dict[str, str] = {}
    for name, line in machine.lines.items():
        first = known.setdefault(f"{line.below}: {without_names(line.pattern)}", name)
        if first != name and line.pattern is not HARMLESS:
            what = f'the line "{name}" has the same pattern as "{first}"'
            table.wrong(
                ("lines", name, "line"), what, f'"{first}" wherever "{name}" is used, and delete this'
            )
    for first, later in combinations(machine.displays, 2):
        display, other_display = machine.displays[first], machine.displays[later]
        title, other_title = display.title, other_display.title
        if display.title_row != other_display.title_row or HARMLESS in (title, other_title):
            continue
        if same_text(title, other_title):
            what = f'the displays "{first}" and "{later}" have the same title on the same row'
            table.wrong(("displays", later, "title"), what, "a title that only this display has")
        elif title.own_text == other_title.own_text and can_both_fit(title, other_title):
            what = (
                f'the same title can fit the displays "{first}" and "{later}", and nothing tells them apart'
            )
            table.advise(("displays", later, "title"), what, "more text of its own in the one that is meant")
    for first, later in combinations(machine.packs, 2):
        if machine.packs[first].label == machine.packs[later].label:
            what = f'the packs "{first}" and "{later}" have the same label, so nobody can tell them apart'
            table.wrong(("packs", later, "label"), what, "label = the text on this pack's own label")


def check_presses(script: ScriptDraft, machine: MachineDraft) -> None:
    """Add a mistake or advice for each key that would answer the prompt at which it is pressed."""
    for step in script.all_steps:
        sent = machine.keys.get(step.texts.get("press", ""), b"") if step.kind == "press" else b""
        for name, below in step.lists.get(step.at_key, []) if sent else []:
            prompt = machine.prompts.get(name)
            if (
                prompt is not None
                and prompt.kind == "secret"
                and sent.isascii()
                and sent.decode().isprintable()
            ):
                what = f'at "{name}" this key would become part of the secret'
                step.table.wrong(below, what, "secret = the name of a secret, or press the key that cancels")
            elif prompt is not None and prompt.kind == "question" and sent == b"\r":
                what = f'RETURN accepts the default of the question "{name}", and that default can change'
                step.table.advise(below, what, "type = the answer that you want")


def check_keys(machine: MachineDraft) -> None:
    """Add a mistake for each key that can't do what it is for."""
    if machine.line.flow != "xon/xoff":
        return
    named = machine.table.table("keys", optional=True)
    keys = [(named, name, sent) for name, sent in machine.keys.items() if name in named]
    table, landmarks = machine.table.table("typing"), machine.table.table("landmarks", optional=True)
    settings = [(table, machine.typing)] if machine.typing is not None else []
    settings += [(landmarks.table(name), typing) for name, typing in machine.typing_at.items()]
    for where, typing in settings:
        keys += [(where, "cancel", typing.cancel), (where, "return", typing.return_key)]
    for silence in machine.silences:
        keys.append((landmarks.table(silence.landmark), "wake", silence.wake))
    for where, name, sent in keys:
        if sent in FLOW_KEYS and name in where:
            where.wrong(
                name,
                f"{FLOW_KEYS[sent]} can't be used as a key, because the line uses it for flow control",
                'another key, or flow = "none" in [line]',
            )


def named_patterns(machine: MachineDraft) -> Iterator[tuple[Subpath, Pattern]]:
    """The patterns that the machine prints, and those never typed, each with its path in machine.toml."""
    for name, prompt in machine.prompts.items():
        yield ("prompts", name, "line"), prompt.pattern
    for name, line in machine.lines.items():
        yield ("lines", name, "line"), line.pattern
    for name, interruption in machine.interruptions.items():
        yield ("interruptions", name, "starts"), interruption.starts
        if interruption.ends is not None:
            yield ("interruptions", name, "ends"), interruption.ends
    for name, display in machine.displays.items():
        yield ("displays", name, "title"), display.title
        for reading in display.readings:
            yield ("displays", name, "readings", reading.name, "line"), reading.pattern
    for name, trouble in machine.troubles.items():
        yield ("troubles", name, "line"), trouble.pattern
    for index, never in enumerate(machine.never):
        yield ("never", "commands", index), never


def hides(first: Pattern, later: Pattern) -> bool:
    """Whether practically everything that fits `later` also fits `first`."""
    if same_text(first, later):
        return True
    return all(first.match(_filled(later, number)) is not None for number in range(SAMPLES_EACH))


def _filled(pattern: Pattern, number: int) -> str:
    """Return a line that fits the pattern, with the sample of that number in each place."""
    return PLACE.sub(lambda place: SAMPLES[kind_named(place[1].rpartition(":")[2])][number], pattern.text)
