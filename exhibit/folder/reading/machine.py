"""Reads machine.toml: everything about a machine except the words that people are shown."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass, field
from typing import Final, Literal, get_args

from exhibit.decisions.display.characters import EIGHT_BITS
from exhibit.decisions.machine.calendars import PLACES
from exhibit.decisions.machine.description import (
    Calendar,
    Interruption,
    LinePattern,
    NeverLifted,
    Pack,
    Prompt,
    Silence,
    StatusDisplay,
    Trouble,
    Typing,
)
from exhibit.decisions.machine.filling import PLACE
from exhibit.decisions.machine.pattern import Pattern
from exhibit.decisions.machine.wear_rules import ErrorSigns, Exerciser
from exhibit.facts.display import CharacterSet, Display, FormFeed, LineEnd
from exhibit.facts.line_settings import Flow, LineSettings, Parity
from exhibit.facts.parts_and_cards import NowReadings, PartDrawn
from exhibit.folder.reading.displays import read_now, read_status_display
from exhibit.folder.reading.landmarks import LARGEST_WINDOW, check_typing, read_landmarks
from exhibit.folder.reading.languages import Beside
from exhibit.folder.reading.never import read_lifted, read_never
from exhibit.folder.reading.panel.switches import Front, read_front
from exhibit.folder.reading.panel.who_may import Role, read_who_may
from exhibit.folder.reading.parts import PartDraft, read_pack, read_parts
from exhibit.folder.reading.story import CaptionsBeside
from exhibit.folder.reading.tables import SHORT, Table
from exhibit.folder.reading.tell_tales import TellTaleDraft, read_tell_tales
from exhibit.folder.reading.troubles import (
    COMMON_TO_TROUBLES,
    read_interruption,
    read_trouble,
    whole_interruption,
)
from exhibit.folder.reading.usual import UNKNOWN, Around
from exhibit.folder.reading.values import (
    AS_IT_IS,
    NO_BREAK,
    is_break,
    key_or_none,
    key_pressed,
    places_of,
    year_rule,
)
from exhibit.folder.reading.visitors.plots import VisitorsDraft, read_visitors
from exhibit.folder.reading.wear import (
    COMMON_TO_EXERCISERS,
    MarksDraft,
    read_error_signs,
    read_exerciser,
)

FILE: Final = "machine.toml"
_ECHO: Final[tuple[Literal["full", "none"], ...]] = ("full", "none")
_FOLDS: Final[tuple[Literal["upper case", "as typed"], ...]] = ("upper case", "as typed")
_EIGHTH: Final[tuple[Literal["parity", "drop", "data"], ...]] = ("parity", "drop", "data")
_PROMPTS: Final[tuple[Literal["command", "question", "secret"], ...]] = ("command", "question", "secret")
_KINDS: Final[tuple[Literal["screen", "paper"], ...]] = ("screen", "paper")
_BITS: Final[tuple[Literal[7, 8], ...]] = (7, 8)
_STOPS: Final[tuple[Literal[1, 2], ...]] = (1, 2)
_PARITIES: Final[tuple[Parity, ...]] = ("none", "even", "odd")
_FLOWS: Final[tuple[Flow, ...]] = ("none", "xon/xoff")
_LINE_ENDS: Final[tuple[LineEnd, ...]] = ("line feed", "return")
_AFTER_CANCEL: Final[tuple[Literal["prompt", "nothing"], ...]] = ("prompt", "nothing")
_FEEDS: Final[tuple[FormFeed, ...]] = ("new sheet", "line feed", "ignore")
_CHARACTERS: Final[tuple[CharacterSet, ...]] = get_args(CharacterSet)
_MAY_BE_ANOTHER: Final = re.compile(r"\?|pass|word\b|secret|code", re.IGNORECASE)
"""What a prompt may contain that isn't waiting for a command: then its kind is required."""
SLOW_BAUD: Final = 110
"""Up to this speed a machine is a printing one, which needs two stop bits to come to rest."""
LEAST_SETTLING: Final = 6
SETTLING_BAUD: Final = 160
"""A prompt settles after 60 ms of quiet, which at ten bits a character are a character for each 160 baud."""
_PAPER_COLUMNS: Final = 72
_SCREEN_COLUMNS: Final = 80
LEAST_NUMBERS: Final = 2
"""How many numbers a row of a printed table needs that has no text of its own."""


@dataclass
class MachineDraft:
    """machine.toml as read; the words come from the languages' files."""

    table: Table
    name: str = ""
    line: LineSettings = LineSettings()
    adapter_latency_us: int = 0
    eighth_bit: Literal["parity", "drop", "data"] = "drop"
    display: Display = Display()
    typing: Typing | None = None
    keys: dict[str, bytes] = field(default_factory=dict)
    prompts: dict[str, Prompt] = field(default_factory=dict)
    lines: dict[str, LinePattern] = field(default_factory=dict)
    interruptions: dict[str, Interruption] = field(default_factory=dict)
    displays: dict[str, StatusDisplay] = field(default_factory=dict)
    troubles: dict[str, Trouble] = field(default_factory=dict)
    trouble_tables: dict[str, Table] = field(default_factory=dict)
    never: list[Pattern] = field(default_factory=list)
    never_lifted: NeverLifted | None = None
    calendars: dict[str, Calendar] = field(default_factory=dict)
    packs: dict[str, Pack] = field(default_factory=dict)
    now: NowReadings = NowReadings()
    front: Front = field(default_factory=Front)
    who_may: dict[str, Role] = field(default_factory=dict)
    tell_tales: dict[str, TellTaleDraft] = field(default_factory=dict)
    parts: dict[str, PartDrawn] = field(default_factory=dict)
    part_drafts: list[PartDraft] = field(default_factory=list)
    marks: list[MarksDraft] = field(default_factory=list)
    exercisers: dict[str, tuple[Exerciser, Table]] = field(default_factory=dict)
    error_signs: ErrorSigns = ErrorSigns()
    landmarks: dict[str, tuple[str, ...]] = field(default_factory=dict)
    visitors: VisitorsDraft = field(default_factory=VisitorsDraft)
    beside: list[Beside] = field(default_factory=list)
    captions: CaptionsBeside = field(default_factory=CaptionsBeside)

    def around(self) -> Around:
        """Return what the steps of a script take from here if they don't say it."""
        secret = [prompt.name for prompt in self.prompts.values() if prompt.kind == "secret"]
        return Around(
            places=self.places(),
            displays=list(self.displays),
            part=self.usual_part,
            exercisers=[exerciser for exerciser, _ in self.exercisers.values()],
            secret=secret[0] if len(secret) == 1 else None,
            told={one.value: words.text for one, words in self.captions.both() if one.trigger == "when"},
            nudge=f"{self.table.table('typing').written('nudge')}",
        )

    def places(self) -> list[str]:
        """Return the names of the prompts and displays, at which something can be typed."""
        return [*self.prompts, *self.displays]

    @property
    def usual_part(self) -> str | None:
        """What captions are about if they don't say: the only part, or the desk at which all is seen."""
        if not self.parts:
            return UNKNOWN  # which is a mistake already
        desks, terminals = (
            [name for name, part in self.parts.items() if part.shape == shape]
            for shape in ("desk", "terminal")
        )
        found = list(self.parts) if len(self.parts) == 1 else desks or terminals
        return found[0] if len(found) == 1 else None

    silences: list[Silence] = field(default_factory=list)
    typing_at: dict[str, Typing] = field(default_factory=dict)

    def typing_at_prompt(self, name: str) -> Typing | None:
        """Return how the machine takes what is typed at this prompt; None if [typing] can't be read."""
        landmark = next((landmark for landmark, names in self.landmarks.items() if name in names), "")
        return self.typing_at.get(landmark, self.typing)

    def waitable(self) -> dict[str, Pattern]:
        """Return the pattern of each thing that a script can wait for, by name; of a display, its title's."""
        return {
            **{name: prompt.pattern for name, prompt in self.prompts.items()},
            **{name: line.pattern for name, line in self.lines.items()},
            **{name: display.title for name, display in self.displays.items()},
        }


def read_machine(root: Table, *, has_home: bool = False, secrets: Collection[str] = ()) -> MachineDraft:
    """Read all of machine.toml. Adds mistakes to the table.

    has_home: whether the folder has a way home. secrets: the names of what the scripts type as secrets.
    """
    draft = MachineDraft(root)
    machine = root.table("machine")
    draft.name = machine.name("name", "whimbrel")
    machine.close()
    draft.parts, draft.marks, draft.part_drafts = read_parts(root)
    told = draft.captions = CaptionsBeside(draft.usual_part, draft.beside)
    _read_line(root.table("line"), draft)
    _read_display(root.table("display"), draft, has_displays="displays" in root)
    _read_typing(root.table("typing"), draft)
    _read_keys(root.table("keys", optional=True), draft)
    for name, table in root.named_tables("prompts", optional=True, short=SHORT):
        pattern = table.pattern("line", "READY:")
        kind = table.choice("kind", _PROMPTS, default=_usual_prompt(name, pattern, secrets))
        draft.prompts[name] = Prompt(name=name, pattern=pattern, kind=kind)
        told.read_shown(table, name)
        table.close()
    for name, table in root.named_tables("lines", optional=True, short=SHORT):
        draft.lines[name] = _read_known_line(name, table, told)
    _check_headings(root, draft.lines)
    for name, table in root.named_tables("interruptions", optional=True, short=whole_interruption):
        draft.interruptions[name] = read_interruption(name, table)
    if draft.display.kind == "paper" and (displays := root.table("displays", optional=True)).names():
        what = "a printer on paper can't show a status display"
        displays.wrong((), what, 'kind = "screen" in [display], or no [displays]')
    for name, table in root.named_tables("displays", optional=True):
        draft.displays[name] = read_status_display(name, table, draft.display, told)
    printed = [name for name, line in draft.lines.items() if not line.below]
    found = read_landmarks(root, draft.prompts, [*draft.displays, *printed], draft.typing)
    draft.landmarks, draft.silences, draft.typing_at = found.names, found.silences, found.typing_at
    if has_home and root.is_sure("landmarks") and "landmarks" not in root:
        draft.landmarks = {name: (name,) for name in draft.places()}
        root.defaults["landmarks",] = {name: {"at": [name]} for name in draft.places()}
    draft.front = read_front(root.table("switches", optional=True))
    draft.who_may = read_who_may(root)
    draft.now = read_now(root.table("now", optional=True), draft.displays)
    for name, table in root.named_tables("troubles", optional=True, common=COMMON_TO_TROUBLES):
        draft.trouble_tables[name] = table
        draft.troubles[name] = read_trouble(
            name, table, draft.displays, draft.display.rows, draft.line.flow, draft.beside
        )
    draft.never = read_never(root.table("never"))
    draft.never_lifted = read_lifted(root, draft.never)
    for name, table in root.named_tables("calendars", optional=True):
        _read_calendar(name, table, draft)
    known = draft.lines, draft.interruptions, draft.parts, draft.beside
    for name, table in root.named_tables("exercisers", optional=True, common=COMMON_TO_EXERCISERS):
        exerciser = read_exerciser(
            name, table, *known, has_packs="packs" in root, tables=_tables(draft), troubles=draft.troubles
        )
        draft.exercisers[name] = exerciser, table
    draft.error_signs = read_error_signs(
        root.table("disc_errors", optional=True), draft.lines, draft.displays
    )
    draft.tell_tales = read_tell_tales(root, draft.beside)
    draft.visitors = read_visitors(root, draft.usual_part, draft.beside)
    for name, table in root.named_tables("packs", optional=True):
        draft.packs[name] = read_pack(name, table, draft.parts)
    root.close()
    _check_shared_names(root, draft)
    return draft


def _usual_prompt(
    name: str, pattern: Pattern, secrets: Collection[str]
) -> Literal["command", "secret"] | None:
    """Return the kind of a prompt if none is written; None if it may be a question or ask for a secret."""
    if not _MAY_BE_ANOTHER.search(PLACE.sub("", pattern.text)):
        return "command"
    return "secret" if name in secrets else None


def _read_known_line(name: str, table: Table, told: CaptionsBeside) -> LinePattern:
    below = table.name("below", "heading") if "below" in table else ""
    pattern = table.pattern("line", "JOB {job: number} ENDED", places_alone=bool(below))
    numbers = [kind for kind in places_of(pattern.text).values() if kind == "number"]
    if below and not pattern.own_text and len(numbers) < LEAST_NUMBERS:
        what = "a row without text of its own needs at least two numbers, or anything could be taken for one"
        table.wrong("line", what, 'line = "{job: number} {minutes: number}"')
    told.read_shown(table, name)
    table.close()
    return LinePattern(name=name, pattern=pattern, below=below)


def _check_headings(root: Table, lines: dict[str, LinePattern]) -> None:
    """Add a mistake for each row of a printed table whose heading isn't one of the other lines."""
    headings = [name for name, line in lines.items() if not line.below]
    for name, line in lines.items():
        root.look_up(("lines", name, "below"), line.below, headings, "line that is itself no row")


def _tables(draft: MachineDraft) -> list[str]:
    """Return the tables on status displays, as DISPLAY.READING."""
    return [
        f"{display.name}.{reading.name}"
        for display in draft.displays.values()
        for reading in display.readings
        if reading.kind == "table"
    ]


def _read_line(table: Table, draft: MachineDraft) -> None:
    baud = table.speed("baud", "2400 baud")
    settings = LineSettings(
        baud=baud,
        data_bits=table.choice("data_bits", _BITS, default=8),
        parity=table.choice("parity", _PARITIES, default="none"),
        stop_bits=table.choice("stop_bits", _STOPS, default=2 if baud <= SLOW_BAUD else 1),
        flow=table.choice("flow", _FLOWS, default="none"),
    )
    draft.line = settings
    eighth: Literal["parity", "drop"] = "parity" if settings.parity_in_software else "drop"
    draft.eighth_bit = table.choice("eighth_bit", _EIGHTH, default=eighth)
    draft.adapter_latency_us = table.duration("adapter_latency", "16 ms", may_be_zero=True, default="16 ms")
    is_sure = table.is_present and table.is_sure("eighth_bit", "data_bits", "parity")
    if is_sure and draft.eighth_bit == "parity" and not settings.parity_in_software:
        table.wrong(
            "eighth_bit",
            "the eighth bit can be the parity only on a line of 7 bits with a parity",
            'eighth_bit = "drop"',
        )
    table.close()


def _read_display(table: Table, draft: MachineDraft, *, has_displays: bool) -> None:
    characters = table.choice("characters", _CHARACTERS, default="ascii")
    kind = table.choice("kind", _KINDS, default="screen" if has_displays else None)
    usual_columns = _PAPER_COLUMNS if kind == "paper" else _SCREEN_COLUMNS
    draft.display = Display(
        kind=kind,
        rows=table.integer("rows", 1, 200, 24, default=24),
        columns=table.integer("columns", 20, 400, 80, default=usual_columns),
        wrap=table.boolean("wrap", default=False),
        tab_columns=table.integer("tab_columns", 0, 40, 8, default=8),
        form_feed=table.choice("form_feed", _FEEDS, default="line feed"),
        characters=characters,
        line_end=table.choice("line_end", _LINE_ENDS, default="line feed"),
    )
    if characters in EIGHT_BITS and draft.eighth_bit != "data":
        what = f'in the characters "{characters}" the eighth bit belongs to the character'
        table.wrong("characters", what, 'data_bits = 8 and eighth_bit = "data" in [line]')
    table.close()


def _read_typing(table: Table, draft: MachineDraft) -> None:
    echo = table.choice("echo", _ECHO, default="full")
    settle = max(LEAST_SETTLING, draft.line.baud // SETTLING_BAUD)
    draft.typing = Typing(
        echo=echo,
        folds_to=table.choice("folds_to", _FOLDS, default="as typed"),
        echo_within_us=table.duration("echo_within", "3 s", default="3 s"),
        settle_characters=table.integer("settle_characters", 1, 1000, 6, default=settle),
        adapter_latency_us=draft.adapter_latency_us,
        cancel=table.read("cancel", "control X", b"\x18", key_or_none),
        after_cancel=table.choice("after_cancel", _AFTER_CANCEL, default="prompt"),
        return_key=table.key_press("return", "return", default="return"),
        pause_after_us=table.duration(
            "pause_after", "0 ms", may_be_zero=True, default="0 ms" if echo == "full" else None
        ),
        window=table.integer("window", 1, LARGEST_WINDOW, 1, default=1),
        show_again=table.read("show_again", "none", b"", key_or_none, default="none"),
        nudge=table.read("nudge", "return", b"", key_or_none, default="none"),
        answer_within_us=table.duration("answer_within", "5 s", default="5 s"),
    )
    check_typing(table, draft.typing)
    table.close()


def _read_keys(table: Table, draft: MachineDraft) -> None:
    for name in table.names():
        if is_break(name):
            table.wrong(name, NO_BREAK, "a name that says what the key does")
        elif table.is_valid_name(name, name):
            draft.keys[name] = table.read(name, "control Q", b"", key_pressed)
    table.allow(*table.names())
    table.close()


def _read_calendar(name: str, table: Table, draft: MachineDraft) -> None:
    year, fixed_year = table.read("year", "stand-in", AS_IT_IS, year_rule)
    earliest = table.integer("earliest", 1901, 2099, 1970)
    latest = table.integer("latest", 1901, 2099, max(earliest, 1989))
    if latest < earliest:
        table.wrong(
            "latest", "the latest year is before the earliest", f"latest = {earliest}, or a later year"
        )
    elif year == "fixed" and not earliest <= fixed_year <= latest:
        what = f"{fixed_year} is not between the earliest year, {earliest}, and the latest, {latest}"
        table.wrong("year", what, f'year = "fixed {latest}"')
    written = table.text("written", "{day}.{month}.{year}")
    places = written.replace("}", "{").split("{")[1::2]
    unknown = [place for place in places if place not in PLACES]
    if unknown or written.count("{") != written.count("}"):
        table.wrong(
            "written",
            f'"{{{unknown[0]}}}" is not a part of a date' if unknown else "a brace has no partner",
            f"a date with any of {', '.join(f'{{{place}}}' for place in PLACES)}",
        )
    elif written and not places:
        what = "written contains no part of a date, such as {day}"
        table.wrong("written", what, 'written = "{day}.{month}.{year}"')
    draft.calendars[name] = Calendar(
        name=name, year=year, fixed_year=fixed_year, earliest=earliest, latest=latest, template=written
    )
    table.close()


def _check_shared_names(root: Table, draft: MachineDraft) -> None:
    """Add a mistake if two prompts, lines or displays share a name, since scripts wait for them by name."""
    seen: dict[str, str] = {}
    for group, names in (("prompts", draft.prompts), ("lines", draft.lines), ("displays", draft.displays)):
        for name in names:
            if name in seen:
                root.wrong(
                    (group, name),
                    f'"{name}" is already the name of one of the {seen[name]}',
                    f"[{group}.{name}-2], or another name",
                )
            seen.setdefault(name, group)
