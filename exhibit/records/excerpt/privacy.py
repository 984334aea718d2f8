"""What of people goes into an excerpt: nothing but their numbers, unless it is asked for."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Final

from exhibit.facts.errors import SetUpFault
from exhibit.facts.kinds import Entry
from exhibit.records.excerpt.few_kinds import entries_of_kinds

LONGEST_NOTE_BYTES: Final = 64 * 1024
LARGEST_PICTURE_BYTES: Final = 12 * 1024 * 1024
LEFT_OUT: Final = "(what a person wrote is left out)"
_PICTURES: Final = {".jpg": "image/jpeg", ".png": "image/png"}


class Privacy:
    """Lets names through if it is given them, and what people wrote if it is given the notes' folder."""

    def __init__(self, names: Mapping[str, str] | None = None, notes: Path | None = None) -> None:
        """`names`: each person's name by what the record says, such as "engineer 1". None leaves it out."""
        self._names = names or {}
        self._notes = notes
        self._written: list[str] = []
        self.shows_names = names is not None
        self.shows_notes = notes is not None

    def person(self, by: str) -> str:
        """Who it was: "engineer 1", or with the name after it."""
        return f"{by} ({self._names[by]})" if by in self._names else by

    def written(self, words: str) -> str:
        """What a person wrote into a fact, such as why a step can't be done; empty if it is left out."""
        return words if self.shows_notes else ""

    def left_out(self, recording: Path) -> None:
        """Learn what people wrote in this recording, so that it can be left out of what quotes it."""
        if self.shows_notes:
            return
        facts = [entry.fact for entry in _people_wrote(recording)]
        found = {getattr(fact, name, "") for fact in facts for name in ("why", "how")}
        self._written = sorted(filter(str.strip, found), key=len, reverse=True)

    def said(self, why: str) -> str:
        """A reason that the program gave, without what it may quote of a person."""
        for words in self._written:
            why = re.sub(rf"(?<!\w){re.escape(words)}(?!\w)", LEFT_OUT, why)
        return why

    def note(self, digest: str) -> str:
        """A note's words; empty if they are left out, were erased, or aren't those that were written."""
        found = self._kept(digest, ".txt", LONGEST_NOTE_BYTES)
        return found.decode("utf-8", "replace") if found is not None else ""

    def picture(self, digest: str) -> str:
        """A photograph as an address that contains it all (data:); empty like a note."""
        for suffix, kind in _PICTURES.items():
            found = self._kept(digest, suffix, LARGEST_PICTURE_BYTES)
            if found is not None:
                return f"data:{kind};base64,{base64.b64encode(found).decode()}"
        return ""

    def _kept(self, digest: str, suffix: str, most_bytes: int) -> bytes | None:
        # A digest from a stranger's recording must not lead to another place.
        if self._notes is None or len(digest) != 64 or not digest.isalnum():
            return None
        path = self._notes / f"{digest}{suffix}"
        try:
            if not path.is_file() or path.is_symlink() or path.stat().st_size > most_bytes:
                return None
            content = path.read_bytes()
        except OSError as fault:
            raise SetUpFault(
                f"The note {path} can't be read: {fault.strerror}.",
                "It was asked for, and would be missing.",
                "Give this user access to it, or leave out --notes.",
            ) from fault
        return content if hashlib.sha256(content).hexdigest() == digest else None


def _people_wrote(recording: Path) -> Iterator[Entry]:
    """The facts in which there can be words of a person."""
    kinds = ("request_made", "hands_on_refused", "trouble_set_aside", "trouble_over")
    for entry in entries_of_kinds(recording, kinds):
        # A note's request has its digest there.
        if getattr(entry.fact, "request", "") != "note":
            yield entry
