"""Decides for a rehearsal: watches the whole recording, and operates only while a script is rehearsed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from exhibit.decisions.commands import Command
from exhibit.decisions.machine.script import Folder
from exhibit.decisions.operating import Operating
from exhibit.decisions.session.programme import Wanted
from exhibit.decisions.watching import Watching
from exhibit.facts import kinds


class RehearsedDecider:
    """Watches until `begin`, and again after `rest`. `opened` is the first fact of the recording."""

    def __init__(self, folder: Folder, opened: kinds.RecordingOpened) -> None:
        self._watching = Watching(folder, opened, rehearsing=True)
        self._operating = self._operating_with(Wanted(before=(), rounds=0, after=()), {})
        self._deciding: Watching | Operating = self._watching

    def received(self, data: bytes, at_us: int) -> Sequence[Command]:
        """The machine sent this."""
        return self._deciding.received(data, at_us)

    def note(self, entry: kinds.Entry) -> Sequence[Command]:
        """This fact has been recorded."""
        return self._deciding.note(entry)

    def begin(
        self, script: str, secrets: Mapping[str, str], at_us: int, from_step: str = ""
    ) -> list[Command]:
        """Runs this one script from now on, whatever ran before; from its first step, or from this one."""
        self.rest()
        wanted = Wanted(before=(script,), rounds=0, after=(), from_step=from_step)
        self._operating = self._operating_with(wanted, secrets)
        self._deciding = self._operating
        return self._operating.begin(at_us)

    def rest(self) -> None:
        """Gives up the running script, and only watches from now on."""
        self._operating.abandon()
        self._deciding = self._watching

    def pass_over(self, data: bytes) -> None:
        """The machine sent this in a part of the recording that isn't rehearsed: it is only displayed."""
        self._watching.console.display_only(data)

    @property
    def being_typed(self) -> str:
        """The command that was begun last. It could be a secret, so use it only to compare."""
        return self._operating.being_typed

    def _operating_with(self, wanted: Wanted, secrets: Mapping[str, str]) -> Operating:
        return Operating(self._watching, wanted, secrets, rehearsing=True)
