"""Finds the prompt at the end of a line. Whether it has settled there is not known here."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from exhibit.decisions.machine.description import Prompt
from exhibit.decisions.machine.pattern import ByEnds
from exhibit.facts.kinds import AnyFact


class Candidate(msgspec.Struct, frozen=True):
    """A prompt at the end of the output, which will settle if nothing more comes."""

    prompt: Prompt
    line: str
    fields: dict[str, str]
    interrupted: Perhaps | None = None
    """The interruption that broke it, if the prompt shows only now that this was one."""


class Perhaps(msgspec.Struct, frozen=True):
    """An interruption behind other text on the same line, if what follows continues that text.

    Unless it comes behind a prompt or an echo, the line could as well be a line that quotes one.
    """

    before: str
    facts: list[AnyFact]


class Prompts:
    """The prompts of one machine."""

    def __init__(self, known: Sequence[Prompt]) -> None:
        # If several fit, the one with the most text of its own counts, and then the first in the folder.
        prompts = sorted(known, key=lambda prompt: -prompt.pattern.own_text)
        self._prompts = ByEnds((prompt.pattern, prompt) for prompt in prompts)

    def at_end_of(self, text: str, interrupted: Perhaps | None = None) -> Candidate | None:
        """The prompt that this line ends with; None if it ends with none."""
        for prompt in self._prompts.possible(text):
            fields = prompt.pattern.match(text)
            if fields is not None:
                return Candidate(prompt, text, fields, interrupted)
        return None
