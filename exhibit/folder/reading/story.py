"""Reads story.toml, day.toml and simulated-docent.toml, as they are written: names aren't looked up yet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from exhibit.decisions.story.reading_changes import CHANGES
from exhibit.facts.kinds import CaptionKind
from exhibit.facts.units import S_US
from exhibit.folder.reading.tables import LocatedTexts, Table
from exhibit.folder.reading.values import intended_name
from exhibit.folder.reading.wear import LimitsDraft, read_limits

STORY, DAY, DOCENT = "story.toml", "day.toml", "simulated-docent.toml"
TRIGGERS: Final = {
    "when": "office-open",
    "step_started": "round.run-tides",
    "step_done": "round.run-tides",
    "reading": "board.load",
    "given": "by a step",
}
"""What can make a caption appear, with an example."""
_CAPTION_KINDS: Final[tuple[CaptionKind, ...]] = ("seen", "look or listen for", "background")
_GIVEN: Final = ("by a step",)
NO_SECOND: Final = "none"
WITH_NUMBER: Final = (
    "crosses upwards",
    "crosses downwards",
    "first above today",
    "stays above",
    "stays below",
)
WITH_TIME: Final = ("stays unchanged", "stays above", "stays below")
LONGEST_STAY_US: Final = 5 * 60 * S_US
"""The page keeps the readings of no longer time, by which a visitor can see that it is so."""


@dataclass
class CaptionDraft:
    """A caption as its table says it, and that table, to which mistakes are added later on."""

    table: Table
    name: str = ""
    kind: CaptionKind = "seen"
    part: str = ""
    trigger: str = ""
    """One of the keys of TRIGGERS; empty when the table has none."""
    value: str = ""
    change: str = ""
    number: float = 0.0
    for_us: int = 0
    confirmed_by: str = ""


@dataclass
class AheadDraft:
    """What visitors are told beforehand, as its table says it."""

    table: Table
    name: str = ""
    part: str = ""
    begins: str = ""
    step: str = ""
    usually_us: int = 1


def read_story(root: Table) -> tuple[list[CaptionDraft], list[AheadDraft]]:
    """Read the captions, and what comes next. What is wrong is added to the table's mistakes."""
    captions = [_read_caption(table) for table in root.tables("caption")]
    ahead = [_read_ahead(table) for table in root.tables("ahead")]
    root.close()
    _no_name_twice("caption", captions)
    _no_name_twice("ahead", ahead)
    return captions, ahead


def _no_name_twice(what: str, drafts: Sequence[CaptionDraft | AheadDraft]) -> None:
    seen: set[str] = set()
    for draft in drafts:
        if draft.name and draft.name in seen:
            draft.table.wrong(
                "name", f'another {what} is named "{draft.name}" too', f'name = "{draft.name}-2"'
            )
        seen.add(draft.name)


def _read_ahead(table: Table) -> AheadDraft:
    ahead = AheadDraft(table)
    ahead.name = table.name("name", "drives-loud")
    ahead.part = table.name("part", "lower-drive")
    ahead.begins = table.text("begins", "round.take-the-desk")
    ahead.step = table.text("step", "round.listen-to-the-drives")
    ahead.usually_us = table.duration("usually", "40 s")
    table.close()
    return ahead


def _read_caption(table: Table) -> CaptionDraft:
    caption = CaptionDraft(table)
    caption.name = table.name("name", "office-open")
    caption.kind = table.choice("kind", _CAPTION_KINDS)
    caption.part = table.name("part", "console")
    said = [key for key in TRIGGERS if key in table]
    caption.trigger = said[0] if said else _intended_trigger(table)
    if not caption.trigger:
        table.wrong((), "nothing makes this caption appear", f"one of: {', '.join(TRIGGERS)}")
    for other in said[1:]:
        table.wrong(
            other,
            f"one thing makes a caption appear, and this one has {said[0]} already",
            f"a caption of its own for {other}",
        )
        table.allow(other)
    if caption.trigger == "given":
        table.choice("given", _GIVEN)
    elif caption.trigger:
        caption.value = table.text(caption.trigger, TRIGGERS[caption.trigger])
    if caption.trigger == "reading":
        _read_change(table, caption)
    if caption.kind == "look or listen for":
        caption.confirmed_by = table.text("confirmed_by", "opening.start-lower")
    elif "kind" not in table:
        table.allow("confirmed_by")
    if not caption.trigger:
        table.allow("change", "number", "for")
    table.close()
    return caption


def _read_change(table: Table, caption: CaptionDraft) -> None:
    caption.change = table.choice("change", CHANGES)
    if caption.change in WITH_NUMBER:
        caption.number = table.number("number", "1000")
    if caption.change in WITH_TIME:
        caption.for_us = table.duration("for", "30 s")
        if caption.for_us > LONGEST_STAY_US:
            table.wrong("for", "the page can show no longer stay than 5 min", 'for = "5 min", or less')
    if not table.has_option("change", CHANGES):
        table.allow("number", "for")  # what belongs to a change that can't be read isn't wrong too


def _intended_trigger(table: Table) -> str:
    """What makes a caption appear whose telling key is misspelt; empty if nothing is near."""
    for key in table.names():
        near = (
            ""
            if key in ("name", "kind", "part", "change", "number", "for", "confirmed_by")
            else intended_name(key, TRIGGERS)
        )
        if near:
            return near
    return ""


@dataclass
class DayDraft:
    """What day.toml says."""

    languages: Table
    """The table with the languages' `order`."""
    order: LocatedTexts
    """The tags of the languages, each with where it stands."""
    rest_us: int
    """The rest between two rounds."""
    limits: LimitsDraft
    second: str = ""
    """The tag of the language that stands beneath the first where nobody has chosen; empty for none."""


def read_day(root: Table) -> DayDraft:
    """Read the day. What is wrong is added to the table's mistakes."""
    rounds = root.table("rounds")
    rest_us = rounds.duration("rest", "20 s")
    rounds.close()
    limits = read_limits(root.table("limits"))
    languages = root.table("languages")
    order = languages.texts("order", '["en"]')
    second = languages.text("second", NO_SECOND)
    _check_second(languages, second, [tag for tag, _ in order])
    languages.close()
    root.close()
    return DayDraft(languages, order, rest_us, limits, "" if second == NO_SECOND else second)


def _check_second(table: Table, second: str, tags: list[str]) -> None:
    if second in ("", NO_SECOND) or second in tags[1:]:
        return
    if second in tags:
        table.wrong("second", f'"{second}" is the first language', f'second = "{NO_SECOND}", or another one')
    elif near := intended_name(second, [*tags[1:], NO_SECOND]):
        table.wrong("second", f'no language has the tag "{second}"', f'second = "{near}"')
    else:
        write = " or ".join(f'"{tag}"' for tag in [NO_SECOND, *tags[1:]])
        table.wrong("second", f'no language has the tag "{second}"', f"second = {write}")


def read_docent(root: Table, by_hand: dict[str, list[str]]) -> dict[str, dict[str, tuple[str, ...]]]:
    """The acts of the simulated docent, by script and step. `by_hand`: each script's steps that need some."""
    acts: dict[str, dict[str, tuple[str, ...]]] = {}
    for script, steps in by_hand.items():
        if not steps:
            continue
        table = root.table(script)
        acts[script] = {}
        for step in steps:
            listed = table.texts(step, '["key on"]')
            if step in table and not listed:
                table.wrong(step, f"{step} says nothing to do", f'{step} = ["key on"]')
            acts[script][step] = tuple(text for text, _ in listed)
        table.close()
    root.close()
    return acts
