"""Searches recordings for the page: by text or pattern, by kind of fact, by step.

Text comes from the index of the folder, which is brought up to date first. Steps and kinds come from the
recording's own marks, so that they can be found before it has been indexed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import islice
from typing import Any, Final, Literal, get_args

from exhibit.facts.errors import SetUpFault
from exhibit.facts.kinds import ALL_KINDS
from exhibit.records.index.notes_words import KEPT_IN, notes_with
from exhibit.records.index.rows import SaidRow
from exhibit.records.study.shelf import Shelf
from exhibit.records.study.studied import Studied

Within = Literal["printed", "pattern", "typed", "facts", "notes", "kind", "step"]
WITHIN: Final[dict[str, Within]] = {one: one for one in get_args(Within)}
MOST_FOUND: Final = 200
LONGEST_WANTED: Final = 200
_PRINTED: Final = ("printed", "screen")
_NOT_LISTED: Final = {
    "bytes received",
    "bytes typed",
    "secret typed",
    "typed by hand",
    "heartbeat",
    "deadline armed",
    "deadline passed",
}


def search(shelf: Shelf, name: str, wanted: str, within: Within, *, everywhere: bool) -> dict[str, Any]:
    """The places at which this was found, at most MOST_FOUND, in order; and whether there are more.

    `everywhere` searches all recordings of the shelf; a kind or a step is searched in one. Raises
    RecordingFault, and SetUpFault for a pattern that is none.
    """
    wanted = wanted[:LONGEST_WANTED].strip()
    if within in ("kind", "step"):
        studied = shelf.studied(name)
        places = _of_kind(studied, wanted) if within == "kind" else _of_step(studied, wanted)
    else:
        places = _said(shelf, name, wanted, within, everywhere)
    found = list(islice(places, MOST_FOUND + 1))
    return {"found": found[:MOST_FOUND], "more": len(found) > MOST_FOUND}


def _said(shelf: Shelf, name: str, wanted: str, within: Within, everywhere: bool) -> Iterator[dict[str, Any]]:
    kinds = {"typed": ("typed",), "facts": tuple(ALL_KINDS)}.get(within, _PRINTED)
    text, pattern = ("", wanted) if within == "pattern" else (wanted, "")
    _check(pattern)
    folded, names = wanted.casefold(), shelf.names_by_path()
    for folder, only in shelf.places(None if everywhere else name):
        with shelf.indexing.asked(folder, only) as index:
            rows = (
                [*notes_with(index, folder / KEPT_IN, lambda words: folded in words.casefold())]
                if within == "notes"
                else [*index.find(text=text, pattern=pattern, kind=kinds, most=MOST_FOUND + 1, practice=True)]
            )
        for row in rows:
            recording = names.get(folder / row.recording)
            if recording is not None:
                yield _place(recording, row)


def _place(recording: str, row: SaidRow) -> dict[str, Any]:
    by = f" (by {row.by})" if row.by else ""
    kind = "" if row.kind in (*_PRINTED, "typed") else f"{row.kind.replace('_', ' ')}: "
    says = f"{kind}{row.text}{by}"
    return {"recording": recording, "seq": row.seq, "at_us": row.at_us, "at": row.at, "says": says}


def _check(pattern: str) -> None:
    try:
        re.compile(pattern)
    except (re.error, RecursionError, OverflowError) as error:
        raise SetUpFault(
            f"This pattern can't be used: {error}.",
            "So nothing was searched.",
            "Write a regular expression as Python has them, or search for text instead.",
        ) from error


def _of_kind(studied: Studied, wanted: str) -> Iterator[dict[str, Any]]:
    kind = " ".join(wanted.lower().replace("_", " ").split())
    if kind in _NOT_LISTED:
        raise SetUpFault(
            f"There are too many facts of the kind {kind} to list them.",
            "They are nearly all of a recording.",
            "Search for what was printed or typed instead.",
        )
    known = {one.replace("_", " ") for one in ALL_KINDS}
    if not any(kind in one for one in known):
        raise SetUpFault(
            f"There is no kind of fact called {wanted}.",
            "So nothing can be found.",
            "Write a kind such as trouble raised, step overdue or note made, or a part of one.",
        )
    yield from studied.of_kind(kind)


def _of_step(studied: Studied, wanted: str) -> Iterator[dict[str, Any]]:
    name = wanted.lower()
    for from_us, to_us, script, step, state, seq, _ in studied.marks().steps:
        if name in f"{script}.{step}".lower():
            took_s = (to_us - from_us) / 1e6 / studied.opened.rate
            says = f"{script}.{step}: {state}, {took_s:.3g} s"
            yield {"recording": "", "seq": seq, "at_us": from_us, "at": "", "says": says}
