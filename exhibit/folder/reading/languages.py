"""Reads captions/LANGUAGE.toml: all words that people are shown, in one language."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from exhibit.facts.kinds import Words
from exhibit.folder.reading.caption_limits import read_limits
from exhibit.folder.reading.tables import LocatedTexts, Table
from exhibit.folder.reading.values import LANGUAGE_TAG, intended_name

FOLDER: Final = "captions"
SITE: Final = {
    "mains_stop": "The red button beside the door",
    "keyholder": "The name and the telephone number of whoever is to be called",
    "rules": "Nobody is alone with the machine while it runs",
}
"""What a person needs in an emergency, each with an example."""
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
)
"""Tables of words by a name that stands in another file."""


@dataclass
class LanguageDraft:
    """One language's file as read."""

    tag: str
    table: Table
    name: str = ""
    title: str = ""
    site: dict[str, str] = field(default_factory=dict)
    words: dict[str, dict[str, str]] = field(default_factory=dict)
    """By section and name."""
    troubles: dict[str, tuple[str, str]] = field(default_factory=dict)
    """By name: the words, and what to do."""
    sections: dict[str, Table] = field(default_factory=dict)


def read_language(tag: str, root: Table) -> LanguageDraft:
    """Read a language's file. What is wrong is added to the table's mistakes."""
    draft = LanguageDraft(tag, root)
    language = root.table("language")
    said = language.text("tag", tag)
    if said and said != tag:
        language.wrong("tag", f'the tag is "{said}", and the file is named {tag}.toml', f'tag = "{tag}"')
    if not LANGUAGE_TAG.fullmatch(tag):
        root.wrong(
            (),
            f'"{tag}" is no language tag, by which this file should be named',
            "en.toml, de.toml, pt-BR.toml",
        )
    draft.name = language.text("name", "English")
    language.close()
    machine = root.table("machine")
    draft.title = machine.text("title", "The Whimbrel, a minicomputer of 1973")
    machine.close()
    site = root.table("site")
    draft.site = {key: site.text(key, example) for key, example in SITE.items()}
    site.close()
    for section in SECTIONS:
        table = draft.sections[section] = root.table(section)
        draft.words[section] = {name: table.text(name, "What people read") for name in table.names()}
        if section != "captions":
            _refuse_braces(table, draft.words[section])
    draft.sections["troubles"] = root.table("troubles")
    for name, table in root.named_tables("troubles"):
        draft.troubles[name] = (table.text("words", "What has happened"), table.text("do", "What to do next"))
        table.close()
    read_limits(root)
    root.close()
    return draft


def _refuse_braces(table: Table, words: Mapping[str, str]) -> None:
    for name, text in words.items():
        if "{" in text or "}" in text:
            table.wrong(
                name,
                "these words are shown as they stand: nothing fills a brace here",
                "words without braces",
            )


def in_order(languages: list[LanguageDraft], table: Table, order: LocatedTexts) -> list[LanguageDraft]:
    """The languages in the order that the table's key `order` gives; adds the mistakes that are in it."""
    by_tag = {language.tag: language for language in languages}
    tags = [tag for tag, _ in order]
    for number, (tag, below) in enumerate(order):
        if tag not in by_tag:
            near = intended_name(tag, by_tag)
            write = f'"{near}"' if near else f"one of: {', '.join(by_tag)}"
            table.wrong(below, f'there is no {FOLDER}/{tag}.toml for the language "{tag}"', write)
        elif tag in tags[:number]:
            table.wrong(below, f'"{tag}" stands here twice', "nothing: leave it out")
    without = [tag for tag in by_tag if tag not in tags]
    if "order" in table and without:
        listed = ", ".join(f'"{tag}"' for tag in [*(tag for tag in tags if tag in by_tag), *without])
        table.wrong("order", f"{FOLDER}/{without[0]}.toml has no place here", f"order = [{listed}]")
    ordered = dict.fromkeys([*tags, *by_tag])
    return [by_tag[tag] for tag in ordered if tag in by_tag]


def compare(
    languages: list[LanguageDraft],
    section: str,
    wanted: Mapping[str, str],
    *,
    all_are_known: bool = True,
) -> None:
    """Report words that are lacking, and words for something that there isn't.

    wanted: each name that needs words, and where it stands, such as "round.toml, line 12".
    all_are_known: false when a file can't be read, so that words may belong to something in it.
    """
    for language in languages:
        table = language.sections[section]
        has = table.names()
        for name, where in wanted.items():
            if name not in has:
                near = intended_name(name, [other for other in has if other not in wanted])
                hint = f'; did "{near}" mean it?' if near else ""
                write = f'{name} = "..."' if section != "troubles" else f"[troubles.{name}]"
                table.wrong((), f'[{section}] lacks words for "{name}" ({where}){hint}', write)
        for name in has:
            if name not in wanted and all_are_known:
                near = intended_name(name, [other for other in wanted if other not in has])
                table.wrong(
                    name,
                    f'nothing is named "{name}", so its words are never used',
                    f'"{near}"' if near else "nothing: leave these words out",
                )


def in_each(languages: list[LanguageDraft], section: str, name: str) -> Words:
    """The words by that name, by language tag."""
    return {language.tag: language.words[section].get(name, "") for language in languages}
