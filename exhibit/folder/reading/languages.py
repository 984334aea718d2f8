"""Reads captions/LANGUAGE.toml: all the words that people are shown, in one language."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Final

from exhibit.decisions.machine.script import HOME
from exhibit.facts.kinds import Words
from exhibit.folder.reading.caption_limits import read_limits
from exhibit.folder.reading.panel.emergencies import Written, read_emergencies
from exhibit.folder.reading.tables import LocatedTexts, Table
from exhibit.folder.reading.values import LANGUAGE_TAG, intended_name

FOLDER: Final = "captions"
SITE: Final = {
    "mains_stop": "The red button beside the door",
    "keyholder": "The name and the telephone number of the person to call",
    "rules": "Never leave anybody alone with the machine while it runs",
    "two_people": "Nobody works on it alone, and two people are in the building while it runs",
    "risk_assessment": "Risk assessment 14 of this year, in the red folder at the desk",
    "fire_watch": "Whoever closes looks in on the room again half an hour later",
}
"""What must be known about the site before the machine runs there, each with an example."""
TROUBLES: Final = "troubles"
DO: Final = "do"
"""The key of a trouble for what people should do."""
SECTIONS: Final = (
    "parts",
    "scripts",
    "hands_on",
    "cautions",
    "captions",
    "sources",
    "glosses",
    "tell_tales",
    "see_or_feel",
    "ahead",
    "stop_by_hand",
    "loads",
    "rounds",
)
"""The tables of words whose names come from other files."""
FILLED: Final = ("captions", "hands_on")
"""The sections whose words can have places in braces, which `checks` looks up."""
GROUPS: Final = ("plots", "chapters", "told")
"""The groups of such tables: one for each plot, or for each script that has chapters."""


NAMES: Final = {"en": "English", "de": "Deutsch"}
"""What people call the languages whose tag alone is enough."""
TITLES: Final = {
    "opening": "Opening",
    "round": "Round",
    "closing": "Closing",
    HOME: "Finding the way home",
}
"""The usual titles of scripts in English."""
_ENGLISH: Final = re.compile(r"en(?:-.*)?")


@dataclass
class Beside:
    """Words that stand beside what they are for: possible in a folder of one language."""

    section: str
    name: str
    text: str
    table: Table
    key: str


def read_beside(table: Table, name: str, keys: Mapping[str, str], beside: list[Beside]) -> None:
    """Read the words of `name` that stand in its own table; `keys`: the keys with their sections."""
    for key, section in keys.items():
        if (text := table.text_if_written(key, "What people read")) is not None:
            beside.append(Beside(section, name, text, table, key))


@dataclass
class LanguageDraft:
    """A language's file as read."""

    tag: str
    table: Table
    name: str = ""
    title: str = ""
    plug: str = ""
    site: dict[str, str] = field(default_factory=dict)
    words: dict[str, dict[str, str]] = field(default_factory=dict)
    """By section and name."""
    troubles: dict[str, tuple[str, str]] = field(default_factory=dict)
    """By name: the words, and what to do."""
    emergencies: dict[str, Written] = field(default_factory=dict)
    """By name, those that are written here."""
    sections: dict[str, Table] = field(default_factory=dict)
    beside: dict[tuple[str, str], Beside] = field(default_factory=dict)
    """The words that are in other files, by section and name."""

    def section(self, name: str) -> Table:
        """Return the table of a section, which for a group is GROUP.NAME; a missing one has no words."""
        if name not in self.sections:
            group, _, inside = name.partition(".")
            self.sections[name] = self.table.table(group, optional=True).table(inside, optional=True)
            self.words[name] = {}
        return self.sections[name]

    def where(self, section: str, name: str) -> tuple[Table, str]:
        """Return the table and the key at which the words are written."""
        one = self.beside.get((section, name))
        return (self.section(section), name) if one is None else (one.table, one.key)

    def has(self, section: str, name: str) -> bool:
        """Whether there are words of that name."""
        return name in self.section(section) or (section, name) in self.beside

    def accept(self, one: Beside) -> None:
        """Take words that stand in another file. Adds a mistake if this file has some for the same."""
        if one.name in self.section(one.section):
            what = f'"{one.name}" has words here and in [{one.section}] of {self.table.file}'
            one.table.wrong(one.key, what, "nothing; delete one of the two")
            return
        self.beside[one.section, one.name] = one
        if one.section == TROUBLES:
            words, do = self.troubles.get(one.name, ("", ""))
            self.troubles[one.name] = (words, one.text) if one.key == DO else (one.text, do)
            return
        self.words[one.section][one.name] = one.text
        if one.section not in FILLED:
            _refuse_braces(one.table, {one.key: one.text})


def read_language(tag: str, root: Table) -> LanguageDraft:
    """Read a language's file. Adds mistakes to the table."""
    draft = LanguageDraft(tag, root)
    language = root.table("language", optional=tag in NAMES)
    tag_inside = language.text("tag", tag, default=tag)
    if tag_inside and tag_inside != tag:
        what = f'the tag is "{tag_inside}", but the file is named {tag}.toml'
        language.wrong("tag", what, f'tag = "{tag}"')
    if not LANGUAGE_TAG.fullmatch(tag):
        what = f'the file must be named by the tag of its language, and "{tag}" is not a language tag'
        root.wrong((), what, "a file name such as en.toml, de.toml or pt-BR.toml")
    draft.name = language.text("name", "English", default=NAMES.get(tag))
    language.close()
    machine = root.table("machine")
    draft.title = machine.text("title", "The Whimbrel, a minicomputer of 1973")
    draft.plug = (
        machine.text_if_written("plug", "The grey plug marked TERMINAL, into the socket CONSOLE") or ""
    )
    machine.close()
    site = root.table("site")
    draft.site = {key: site.text(key, example) for key, example in SITE.items()}
    site.close()
    for section in SECTIONS:
        table = draft.sections[section] = root.table(section, optional=True)
        draft.words[section] = {name: table.text(name, "What people read") for name in table.names()}
        if section not in FILLED:
            _refuse_braces(table, draft.words[section])
    for group in GROUPS:
        for name, table in root.named_tables(group, optional=True):
            section = f"{group}.{name}"
            draft.sections[section] = table
            draft.words[section] = {name: table.text(name, "What people read") for name in table.names()}
            _refuse_braces(table, draft.words[section])
    draft.sections[TROUBLES] = root.table(TROUBLES, optional=True)
    for name, table in root.named_tables(TROUBLES, optional=True):
        draft.troubles[name] = (table.text("words", "What has happened"), table.text(DO, "What to do next"))
        table.close()
    draft.emergencies = read_emergencies(tag, root)
    read_limits(root)
    root.close()
    return draft


def _refuse_braces(table: Table, words: Mapping[str, str]) -> None:
    for name, text in words.items():
        if "{" in text or "}" in text:
            what = "these words are shown exactly as they are written here, so nothing fills in a {FIELD}"
            table.wrong(name, what, "words without braces")


def in_order(languages: list[LanguageDraft], table: Table, order: LocatedTexts) -> list[LanguageDraft]:
    """Return the languages in the order that the table's key `order` gives. Adds mistakes to the table."""
    by_tag = {language.tag: language for language in languages}
    tags = [tag for tag, _ in order]
    for number, (tag, below) in enumerate(order):
        if tag not in by_tag:
            near = intended_name(tag, by_tag)
            write = f'"{near}"' if near else f"one of: {', '.join(by_tag)}"
            table.wrong(below, f'there is no {FOLDER}/{tag}.toml for the language "{tag}"', write)
        elif tag in tags[:number]:
            table.wrong(below, f'"{tag}" is listed twice', "nothing; delete this one")
    without = [tag for tag in by_tag if tag not in tags]
    if without and (order or table.is_empty("order")):
        listed = ", ".join(f'"{tag}"' for tag in [*(tag for tag in tags if tag in by_tag), *without])
        what = f"the language of {FOLDER}/{without[0]}.toml is not listed"
        table.wrong("order", what, f"order = [{listed}]")
    ordered = dict.fromkeys([*tags, *by_tag])
    return [by_tag[tag] for tag in ordered if tag in by_tag]


def compare(
    languages: list[LanguageDraft],
    section: str,
    wanted: Mapping[str, str],
    *,
    all_are_known: bool = True,
    usual: Callable[[str], str] | None = None,
) -> None:
    """Add a mistake for each missing entry of a section, and for each entry that nothing uses.

    wanted: each name that needs words, and where it is used, such as "round.toml, line 12".
    all_are_known: false if a file can't be read, because an entry may then belong to something in it.
    usual: gives the words of an English entry that is missing.
    """
    for language in languages:
        table = language.section(section)
        group = section.partition(".")[0]
        if group in language.table and not language.table.table(group, optional=True).is_present:
            continue  # it isn't a table, which is mistake enough
        is_trouble = section == TROUBLES
        missing = {name: where for name, where in wanted.items() if not language.has(section, name)}
        unused = [name for name in table.names() if all_are_known and name not in wanted]
        if len(unused) > 1 and not wanted:
            what = f"nothing uses any of the words in [{section}]"
            language.table.wrong(section, what, "nothing; delete this table")
            continue
        for name in unused:
            near = intended_name(name, [other for other in wanted if other not in table])
            missing.pop(near, None)
            hint = f'; did you mean "{near}"?' if near else ""
            write = f"[troubles.{near}]" if is_trouble else f'"{near}"'
            what = f'nothing is named "{name}", so these words are never used{hint}'
            table.wrong(name, what, write if near else "nothing; delete these words")
        if usual is not None and _ENGLISH.fullmatch(language.tag):
            for name in missing:
                language.words[section][name] = usual(name)
                language.table.defaults[(*section.split("."), name)] = usual(name)
            missing = {}
        for name, where in missing.items():
            write = f"[troubles.{name}]" if is_trouble else f'{name} = "..."'
            at = table if table.is_present else language.table
            at.wrong((), f'[{section}] lacks words for "{name}" ({where})', write)


def title_of(name: str) -> str:
    """Return the usual title of a script in English."""
    return TITLES.get(name) or readable(name)


def readable(name: str) -> str:
    """Return a name as people write it: "Lower drive" for lower-drive."""
    return name.replace("-", " ").capitalize()


def in_each(languages: list[LanguageDraft], section: str, name: str) -> Words:
    """Return the words of that name, by language tag."""
    return {language.tag: language.words.get(section, {}).get(name, "") for language in languages}
