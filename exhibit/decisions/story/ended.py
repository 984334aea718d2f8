"""What a fact has ended, so that what was said about it can be taken back."""

from __future__ import annotations

import msgspec


class Ended(msgspec.Struct, frozen=True):
    """What has ended with a fact."""

    displays: tuple[str, ...] = ()
    jobs: frozenset[str] = frozenset()
    """By number."""
    part: str = ""
    by: str = ""
    """What reported that `part` was stopped: a line, an interruption or a step."""
    off: bool = False
    """The machine is off, since what `by` reported."""
    all: bool = False
    """Nothing that was said before this fact holds any more."""

    def __bool__(self) -> bool:
        return bool(self.displays or self.jobs or self.part or self.off or self.all)


NOTHING = Ended()
