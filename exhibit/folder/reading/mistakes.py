"""A mistake in a machine's folder, and the error that carries all of them."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from exhibit.facts.errors import ScriptError


class Mistake(msgspec.Struct, frozen=True, order=True):
    """Something in a file that we wrote is wrong."""

    file: str
    """Its name within the folder, with `/` between the parts."""
    line: int
    """Counted from 1; 1 also for what a whole file lacks."""
    what: str
    """What is wrong, a sentence without its full stop."""
    write_instead: str
    """What to write there, ready to be copied where that is possible."""
    is_advice: bool = False
    """Nothing is refused because of it: it could go wrong, or be better."""

    def text(self) -> str:
        """As one line for a person: `round.toml:12: what is wrong. Write: what to write`."""
        return f"{self.file}:{self.line}: {self.what}. Write: {self.write_instead}"


class FolderMistakes(ScriptError):
    """A machine's folder has mistakes. `mistakes` holds all of them, by file and line."""

    def __init__(self, folder: str, mistakes: Sequence[Mistake]) -> None:
        self.mistakes = sorted(mistakes)
        first = self.mistakes[0]
        many = len(self.mistakes)
        count = "a mistake" if many == 1 else f"{many} mistakes"
        super().__init__(
            f"The folder {folder} has {count}; the first is {first.file}, line {first.line}: {first.what}.",
            "Nothing is done from a folder that has a mistake, so that nothing half right is typed.",
            f"Write: {first.write_instead}. `exhibit check {folder}` lists all mistakes.",
        )
