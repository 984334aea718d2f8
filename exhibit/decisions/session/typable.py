"""What a step types, and whether that may be typed at all."""

from __future__ import annotations

import datetime
from collections.abc import Mapping

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

    `agreed`: a person has been asked whether its date may be told; DateInDoubt is raised where one must
    be and hasn't been. Raises NotKnownYet when the machine hasn't given a number that it names, and
    ScriptError when a calendar can't hold the year or a secret can't be typed.
    """
    if isinstance(step, TypeCommand):
        return fill(step.command, seen, machine.calendars, now, agreed=agreed)
    if not isinstance(step, TypeSecret):
        return ""
    secret = secrets.get(step.secret, "")
    if not secret or not _on_every_keyboard(secret):
        lacks = "holds a character that no keyboard of its time has" if secret else "isn't known here"
        raise ScriptError(
            f"The secret {step.secret} {lacks}.",
            "It can't be typed.",
            "Look at where the secrets are kept; docs and README say how to write them.",
        )
    return secret


def why_not(command: str, machine: Machine, lifts: str = "") -> str:
    """Why this command must not be typed; empty when it may. `lifts` is a pattern that its step may type.

    On the way to the machine any character may turn into RETURN, so no beginning of it may be
    something that the machine's folder says never to type either; nor what the machine makes of it.
    """
    if not _on_every_keyboard(command):
        return "it holds a character that can't be typed"
    folded = machine.typing.folded(command)
    for length in range(1, len(command) + 1):
        for never in machine.never:
            if never.text == lifts:
                continue
            if never.match(command[:length]) is not None or never.match(folded[:length]) is not None:
                return f"the machine's folder says never to type {never.text}"
    return ""


def _on_every_keyboard(text: str) -> bool:
    """Whether it consists of printable characters of seven bits alone (ASCII, ISO/IEC 646)."""
    return all(" " <= character <= "~" for character in text)
