"""Gives the words that stand beside what they are for to the language of the folder, if it has only one."""

from __future__ import annotations

from exhibit.folder.checks.references import Drafts
from exhibit.folder.reading.languages import FOLDER, Beside
from exhibit.folder.reading.scripts import WORDS


def place_words(drafts: Drafts, beside: list[Beside]) -> None:
    """Add the words to the language. Adds a mistake for each if the folder has several languages."""
    machine = drafts.machine
    found = [*beside, *(machine.beside if machine is not None else []), *_in_steps(drafts)]
    if len(drafts.languages) == 1:
        for one in found:
            drafts.languages[0].accept(one)
    elif drafts.languages:
        names = " and ".join(f"{FOLDER}/{language.tag}.toml" for language in drafts.languages)
        for one in found:
            what = "words can stand here only if the folder has one language, so that none lacks them"
            one.table.wrong(one.key, what, f"an entry of [{one.section}] in {names}")


def _in_steps(drafts: Drafts) -> list[Beside]:
    """Return the words that steps have in place of the name of an entry. They are named by themselves."""
    return [
        Beside(WORDS[key], text, text, step.table, key)
        for script in filter(None, drafts.scripts.values())
        for step in script.all_steps
        for key, text in step.texts.items()
        if key in WORDS and " " in text.strip()
    ]
