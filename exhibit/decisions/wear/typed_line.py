"""The command that is being typed, followed from the facts about what was typed."""

from __future__ import annotations

from exhibit.decisions.machine.description import Machine
from exhibit.facts import kinds


class TypedLine:
    """The command that is being typed, from the facts about what was typed."""

    def __init__(self, machine: Machine) -> None:
        self._returns = tuple(kinds.to_text(typing.return_key) for typing in machine.typings)
        self._cancels = tuple(kinds.to_text(typing.cancel) for typing in machine.typings if typing.cancel)
        self._looks = {kinds.to_text(typing.show_again) for typing in machine.typings}
        self._displays = {display.name for display in machine.displays}
        self._at_display = False
        self._text = ""
        self.by = ""
        """Who typed last."""

    def note(self, fact: kinds.AnyFact | kinds.UnknownFact) -> str:
        """Takes the next fact. Returns the command if RETURN was typed after one; otherwise nothing."""
        match fact:
            case kinds.LandmarkReached(landmark=name):
                self._at_display = name in self._displays
            case kinds.TypingGarbled(thrown_away=True) | kinds.PlaceSought(line_clear=True):
                self._text = ""
            case kinds.BytesTyped(bytes=text, by=by) if text and text not in self._looks:
                self.by = by
                if self._at_display:  # it acts on the key at once
                    self._at_display = False
                    return ""
                self._text += text
                if self._text.endswith(self._cancels):
                    self._text = ""
                elif self._text.endswith(self._returns):
                    end = next(key for key in self._returns if self._text.endswith(key))
                    command, self._text = self._text.removesuffix(end), ""
                    return command.strip()
        return ""
