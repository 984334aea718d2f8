"""Reads [who_may] of machine.toml: who may do what a caution stands before. People read it with the caution.

docs/safety.md says what the three roles mean.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final, Literal

from exhibit.folder.reading.languages import LanguageDraft
from exhibit.folder.reading.tables import Table
from exhibit.folder.reading.troubles import CAUTIONS

Role = Literal["docent", "trained volunteer", "qualified person"]
WHO_MAY: Final = "who_may"
ROLES: Final[tuple[Role, ...]] = ("docent", "trained volunteer", "qualified person")
_SENTENCES: Final[dict[str, dict[Role, str]]] = {
    "en": {
        "docent": "Who may: a docent.",
        "trained volunteer": "Who may: only a volunteer who has been shown this.",
        "qualified person": "Who may: only a qualified person.",
    },
    "de": {
        "docent": "Wer darf das: wer hier Dienst hat.",
        "trained volunteer": "Wer darf das: nur wer es gezeigt bekommen hat.",
        "qualified person": "Wer darf das: nur eine Fachkraft.",
    },
}


def read_who_may(root: Table) -> dict[str, Role]:
    """Read who may do what each caution stands before. Adds mistakes to the table."""
    table = root.table(WHO_MAY, optional=True)
    found = {name: table.choice(name, ROLES) for name in table.names()}
    table.close()
    return found


def usual_role(step_kind: str) -> Role:
    """Who may do a step of this kind whose caution has no name, because it stands there in full."""
    return "docent" if step_kind == "hands_on" else "trained volunteer"


def with_who_may(languages: Sequence[LanguageDraft], roles: Mapping[str, Role]) -> list[LanguageDraft]:
    """The languages with who may at the end of each caution."""
    return [
        replace(
            language,
            words={
                **language.words,
                CAUTIONS: {
                    name: f"{text} {_said(roles.get(name, ROLES[1]), language.tag)}" if text else text
                    for name, text in language.words[CAUTIONS].items()
                },
            },
        )
        for language in languages
    ]


def _said(role: Role, tag: str) -> str:
    return _SENTENCES.get(tag.split("-")[0], _SENTENCES["en"])[role]
