"""Checks that an emergency of the folder's own has words in each of its languages."""

from __future__ import annotations

from exhibit.folder.reading.languages import LanguageDraft
from exhibit.folder.reading.panel.emergencies import EMERGENCIES, has_own_words
from exhibit.folder.reading.panel.general_emergencies import NAMES


def check_emergencies(languages: list[LanguageDraft]) -> None:
    """Add a mistake for each that a language lacks, and advice on a language without any."""
    names = dict.fromkeys(name for language in languages for name in language.emergencies)
    for language in languages:
        general = NAMES if has_own_words(language.tag) else ()
        for name in names:
            if name not in language.emergencies and name not in general:
                what = f'[{EMERGENCIES}] lacks words for "{name}", which another language has'
                language.table.wrong((), what, f"[{EMERGENCIES}.{name}] with title and do")
        missing = [name for name in NAMES if name not in language.emergencies and name not in general]
        if missing and not names:
            what = f"the emergencies are shown in English, because nobody wrote them in {language.name}"
            language.table.advise((), what, f"[{EMERGENCIES}.{missing[0]}] with title and do, and the others")
