"""What a step types, and whether it may be typed at all."""

from __future__ import annotations

import datetime
from collections.abc import Mapping

from exhibit.decisions.display.characters import is_typed
from exhibit.decisions.machine.description import Machine
from exhibit.decisions.machine.filling import fill
from exhibit.decisions.machine.script import AnyStep, TypeCommand, TypeSecret
from exhibit.facts.errors import ScriptError


def text_of(
    step: AnyStep,
    machine: Machine,
    secrets: Mapping[str, str],
    seen: Mapping[str, Mapping[str, str]],
    now: datetime.datetime,
    *,
    agreed: bool = False,
) -> str:
    """The text that the step types, without RETURN; empty for a step that types none.

    `agreed`: a person has agreed to its date. Raises DateInDoubt if a person must be asked first, NotKnownYet
    if the machine hasn't printed a number that it names, and ScriptError if a calendar can't handle the year
    or a secret can't be typed.
    """
    if isinstance(step, TypeCommand):
        return fill(step.command, seen, machine.calendars, now, agreed=agreed)
    if not isinstance(step, TypeSecret):
        return ""
    secret = secrets.get(step.secret, "")
    if not secret or not _on_every_keyboard(secret):
        lacks = "has a character that no keyboard of its time has" if secret else "isn't known here"
        raise ScriptError(
            f"The secret {step.secret} {lacks}.",
            "It can't be typed.",
            "Look at the place where the secrets are kept; README.md says how to write them.",
        )
    return secret


def why_not(command: str, machine: Machine, lifts: str = "") -> str:
    """Why this command must not be typed; empty if it may be. `lifts` is a pattern that its step may type.

    Noise can turn any character into RETURN, so no beginning of the command may match a pattern that the
    folder says never to type. The same goes for the command as the machine folds it.
    """
    if not all(is_typed(character, machine.display.characters) for character in command):
        return "it has a character that can't be typed"
    as_taken = {command, *(typing.folded(command) for typing in machine.typings)}
    for length in range(1, len(command) + 1):
        for never in machine.never:
            if never.text == lifts:
                continue
            if any(never.match(text[:length]) is not None for text in as_taken):
                return f"the machine's folder says never to type {never.text}"
    return ""


def _on_every_keyboard(text: str) -> bool:
    """Whether it consists of printable seven-bit characters only (ASCII, ISO/IEC 646)."""
    return all(" " <= character <= "~" for character in text)
