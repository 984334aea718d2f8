"""What people write down: only its digest is recorded, so that the words can be erased."""

from __future__ import annotations

import re
from typing import Final

from exhibit.facts import kinds
from exhibit.facts.day_facts import NoteKind

NOTE: Final = "note"
NO_DIGEST: Final = "it doesn't say which note"
_KEPT_BY: Final[dict[str, NoteKind]] = {
    "": "note",
    "photograph": "photograph",
    "minutes kept": "minutes kept",
}
_DIGEST: Final = re.compile(r"[0-9a-f]{64}")


def note_made(made: kinds.RequestMade) -> kinds.NoteMade | kinds.RequestRefused:
    """The fact that follows from this request. Its `why` is the digest of the note's file.

    Before that it says what kind it is, unless it is a written note: "photograph 9f86d0...".
    """
    kind, _, digest = made.why.rpartition(" ")
    if kind not in _KEPT_BY or not _DIGEST.fullmatch(digest):
        return kinds.RequestRefused(request=NOTE, why=NO_DIGEST)
    return kinds.NoteMade(kind=_KEPT_BY[kind], by=made.by, digest=digest)
