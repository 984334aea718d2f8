"""Reads story.toml, day.toml and simulated-docent.toml. Names in them are looked up later, by `checks`."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from exhibit.decisions.machine.opening_hours import OpeningHours
from exhibit.decisions.story.reading_changes import CHANGES
from exhibit.facts.kinds import CaptionKind
from exhibit.facts.units import S_US
from exhibit.folder.reading.languages import Beside, read_beside
from exhibit.folder.reading.mistakes import check_unique_names
from exhibit.folder.reading.tables import LocatedTexts, Table
from exhibit.folder.reading.usual import UNKNOWN, as_name
from exhibit.folder.reading.values import NAME, intended_name
from exhibit.folder.reading.visitors.opening import read_hours, read_zone
from exhibit.folder.reading.wear import NONE, LimitsDraft, count_of, or_none, read_limits

PRESENCE: Final = "30 min"
FEWEST_DAYS: Final = 30
"""For which recordings are kept, at least."""
STORY, DAY, DOCENT = "story.toml", "day.toml", "simulated-docent.toml"
TRIGGERS: Final = {
    "when": "office-open",
    "step_started": "round.run-tides",
    "step_done": "round.run-tides",
    "reading": "board.load",
    "given": "by a step",
}
"""What can make a caption appear, each with an example."""
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
BESIDE_A_READING: Final = ("changes", "rises", "falls")
"""The changes of a reading whose captions can stand beside it."""
LONGEST_STAY_US: Final = 5 * 60 * S_US
"""The page keeps readings only this long, and visitors must be able to see that the caption is true."""


@dataclass
class CaptionDraft:
    """A caption as read, and its table, to which mistakes are added later."""

    table: Table
    name: str = ""
    kind: CaptionKind = "seen"
    part: str = ""
    trigger: str = ""
    """One of the keys of TRIGGERS; "" if the table has none."""
    value: str = ""
    change: str = ""
    number: float = 0.0
    for_us: int = 0
    confirmed_by: str = ""
    ends: LocatedTexts = field(default_factory=list)


@dataclass
class AheadDraft:
    """An announcement of what comes next, as read, and its table."""

    table: Table
    name: str = ""
    part: str = ""
    begins: str = ""
    step: str = ""
    usually_us: int = 1


@dataclass
class CaptionsBeside:
    """Captions that stand in machine.toml, beside what they are about."""

    part: str | None = UNKNOWN
    """What captions are about if they don't say."""
    words: list[Beside] = field(default_factory=list)
    captions: list[CaptionDraft] = field(default_factory=list)

    def both(self) -> Iterator[tuple[CaptionDraft, Beside]]:
        """Yield each caption with its words."""
        words = [one for one in self.words if one.section == "captions"]
        yield from zip(self.captions, words, strict=True)

    def read_shown(self, table: Table, name: str) -> None:
        """Read the caption that appears when this prompt or line has appeared."""
        if _is_meant(table, "caption"):
            self._read(table, "caption", CaptionDraft(table, name, trigger="when", value=name))

    def read_changes(self, table: Table, display: str, reading: str) -> None:
        """Read the captions that appear when this reading changes."""
        for change in BESIDE_A_READING:
            if _is_meant(table, change):
                name, value = f"{reading}-{change}", f"{display}.{reading}"
                caption = CaptionDraft(table, name, trigger="reading", value=value, change=change)
                self._read(table, change, caption)

    def _read(self, table: Table, key: str, caption: CaptionDraft) -> None:
        caption.part = table.name("part", "console", default=self.part)
        if (text := table.text_if_written(key, "What people read")) is not None:
            self.words.append(Beside("captions", caption.name, text, table, key))
            self.captions.append(caption)


def _is_meant(table: Table, key: str) -> bool:
    """Whether the key is there, perhaps misspelt, in which case only the misspelling is reported."""
    return key in table or any(intended_name(other, [key]) for other in table.names())


def read_story(
    root: Table, part: str | None, beside: list[Beside], told: Sequence[CaptionDraft] = ()
) -> tuple[list[CaptionDraft], list[AheadDraft]]:
    """Read the captions and the announcements of what comes next. Adds mistakes to the tables.

    Words that stand here go to `beside`. `part`: what captions are about if they don't say.
    `told`: the captions that stand in machine.toml.
    """
    tables = list(root.tables("caption", optional=True))
    taken = {*(f"{table.data.get('name')}" for table in tables), *(caption.name for caption in told)}
    captions = [_read_caption(table, taken, part, beside) for table in tables]
    ahead = [_read_ahead(table, part, beside) for table in root.tables("ahead", optional=True)]
    root.close()
    check_unique_names("caption", [*told, *captions])
    check_unique_names("[[ahead]]", ahead)
    return captions, ahead


def _read_ahead(table: Table, part: str | None, beside: list[Beside]) -> AheadDraft:
    ahead = AheadDraft(table)
    ahead.name = table.name("name", "drives-loud")
    read_beside(table, ahead.name, {"words": "ahead"}, beside)
    ahead.part = table.name("part", "lower-drive", default=part)
    ahead.begins = table.text("begins", "round.take-the-desk")
    ahead.step = table.text("step", "round.listen-to-the-drives")
    ahead.usually_us = table.duration("usually", "40 s")
    table.close()
    return ahead


def caption_name(data: Mapping[str, Any], taken: set[str]) -> str:
    """Return the name of a caption: its own, or else one after what makes it appear, that isn't taken."""
    if "name" in data:
        return f"{data['name']}"
    values = [f"{data[key]}" for key in TRIGGERS if key in data]
    name = free = as_name(values[0]) if values else ""
    name = free = name if NAME.fullmatch(name) else "caption"
    number = 2
    while free in taken:
        free, number = f"{name}-{number}", number + 1
    taken.add(free)
    return free


def _read_caption(table: Table, taken: set[str], part: str | None, beside: list[Beside]) -> CaptionDraft:
    caption = CaptionDraft(table)
    default = None if "name" in table or "given" in table else caption_name(table.data, taken)
    caption.name = table.name("name", "office-open", default=default)
    caption.kind = table.choice("kind", _CAPTION_KINDS, default="seen")
    read_beside(table, caption.name, {"words": "captions", "source": "sources"}, beside)
    caption.part = table.name("part", "console", default=part)
    triggers = [key for key in TRIGGERS if key in table]
    caption.trigger = triggers[0] if triggers else _intended_trigger(table)
    if not caption.trigger:
        table.wrong((), "nothing makes this caption appear", f"one of: {', '.join(TRIGGERS)}")
    for other in triggers[1:]:
        table.wrong(
            other,
            f"only one thing can make a caption appear, and this one already has {triggers[0]}",
            f"a separate caption for {other}",
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
    caption.ends = table.texts("ends", '["office-closed"]', default=[])
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
            what = "the page can't show that a value stayed for longer than 5 min"
            table.wrong("for", what, 'for = "5 min", or less')
    if table.written("change") not in CHANGES:
        table.allow("number", "for")  # the unknown change is mistake enough; these may belong to it


def _intended_trigger(table: Table) -> str:
    """Return the trigger of a caption whose key for it is misspelt; "" if no key is close to one."""
    for key in table.names():
        near = (
            ""
            if key in ("name", "kind", "part", "change", "number", "for", "confirmed_by", "ends")
            else intended_name(key, TRIGGERS)
        )
        if near:
            return near
    return ""


MOST_GOING_ON: Final = 20
"""Rounds that fail more often than this in a day need a person."""


@dataclass
class DayDraft:
    """day.toml as read."""

    languages: Table
    """The table [languages]."""
    order: LocatedTexts
    """The tags of the languages."""
    rest_us: int
    """The pause between two rounds."""
    goes_on_after_loss: int
    """How often a day the rounds go on by themselves after a lost line or a late answer."""
    limits: LimitsDraft
    hours: OpeningHours | None = None
    """When the house is open, if that is written."""
    zone: str = ""
    """The zone of its wall times; "" for that of the computer."""
    presence_us: int | None = None
    """After so long without a sign that somebody is there, no round begins; None if that isn't written."""
    keep_days: int | None = None
    """For how many days recordings are kept in any case; None: for good."""
    second: str = ""
    """The tag of the language shown beneath the first until a visitor chooses; "" for none."""


def read_day(root: Table, tags: list[str], *, is_exercised: bool, is_simulated: bool) -> DayDraft:
    """Read day.toml. Adds mistakes to the table. `tags`: the languages that have a file."""
    rounds = root.table("rounds", optional=True)
    rest_us = rounds.duration("rest", "20 s", default="1 min")
    goes_on = rounds.integer("goes_on_after_loss", 0, MOST_GOING_ON, 3, default=0)
    rounds.close()
    limits = read_limits(root.table("limits", optional=not is_exercised), is_exercised=is_exercised)
    languages = root.table("languages", optional=len(tags) < 2)
    order = languages.texts("order", '["en"]', default=tags if len(tags) < 2 else None)
    second = languages.text("second", NO_SECOND, default=NO_SECOND)
    _check_second(languages, second, [tag for tag, _ in order])
    languages.close()
    opening = root.table("hours", optional=True)
    zone, hours = read_zone(opening), read_hours(opening)
    doors = [key for key in ("last_round", "closes") if limits.keeps_to_doors(key)]
    for key in doors if hours is None else ():
        limits.table.wrong(
            key, "nothing says when the doors close", 'every_day = "10:00 to 17:00" in [hours]'
        )
    presence_us = None
    if "presence" in root:
        presence = root.table("presence")
        presence_us = presence.duration("within", PRESENCE)
        presence.close()
    elif hours is not None and not is_simulated:
        what = "nothing says how long the rounds of a day go on without a sign that somebody is there"
        root.advise((), f"{what}, so `exhibit today` can't be run", f'within = "{PRESENCE}" in [presence]')
    kept = root.table("recordings", optional=True)
    keep_days = kept.read("keep", "400 days", None, or_none(count_of("days", FEWEST_DAYS)), default=NONE)
    kept.close()
    root.close()
    return DayDraft(
        languages=languages,
        order=order,
        rest_us=rest_us,
        goes_on_after_loss=goes_on,
        limits=limits,
        hours=hours,
        zone=zone,
        presence_us=presence_us,
        keep_days=keep_days,
        second="" if second == NO_SECOND else second,
    )


def _check_second(table: Table, second: str, tags: list[str]) -> None:
    if second in ("", NO_SECOND) or second in tags[1:]:
        return
    if second in tags:
        what = f'"{second}" is already the first language'
        table.wrong("second", what, f'second = "{NO_SECOND}", or another language')
    elif near := intended_name(second, [*tags[1:], NO_SECOND]):
        table.wrong("second", f'no language has the tag "{second}"', f'second = "{near}"')
    else:
        write = " or ".join(f'"{tag}"' for tag in [NO_SECOND, *tags[1:]])
        table.wrong("second", f'no language has the tag "{second}"', f"second = {write}")


def read_docent(
    root: Table, by_hand: dict[str, list[str]], start: str
) -> dict[str, dict[str, tuple[str, ...]]]:
    """Return what the simulated docent does, by script and step.

    `by_hand`: each script's hands-on steps. `start`: how the switches are set, in place of {start}.
    Adds mistakes to the tables.
    """
    acts: dict[str, dict[str, tuple[str, ...]]] = {}
    for script, steps in by_hand.items():
        if not steps:
            continue
        table = root.table(script)
        acts[script] = {}
        for step in steps:
            listed = table.texts(step, '["key on"]', at_least_one=True)
            acts[script][step] = tuple(text.replace("{start}", start) for text, _ in listed)
        table.close()
    root.close()
    return acts
