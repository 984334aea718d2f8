"""Decides again over the facts of a recording, and compares with what was decided then."""

from __future__ import annotations

from collections.abc import Iterable

from exhibit.decisions.commands import Arm, Tell, Type
from exhibit.decisions.decider import Decider
from exhibit.decisions.machine.script import Folder, TypeSecret
from exhibit.decisions.session.day_programme import ByTheDay
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from tests.decisions.deciders import decider_for

CAME_FROM_OUTSIDE = (
    kinds.RecordingOpened,
    kinds.CarriedOver,
    kinds.LastRecordingRead,
    kinds.LineOpened,
    kinds.LineLost,
    kinds.LineUnreadable,
    kinds.LineReadable,
    kinds.LineErrorsCounted,
    kinds.BytesReceived,
    kinds.BytesWithheld,
    kinds.TerminalOpened,
    kinds.TerminalLost,
    kinds.TypedByHand,
    kinds.TypedInVain,
    kinds.BytesMissed,
    kinds.OtherProgramSeen,
    kinds.OtherProgramGone,
    kinds.SecretWithheld,
    kinds.TypingFailed,
    kinds.DeadlinePassed,
    kinds.RequestMade,
    kinds.ClockStepped,
    kinds.RecordNearlyFull,
    kinds.Heartbeat,
    kinds.RecordingClosed,
)
"""All other facts were decided: told, typed or armed."""


def decided_then(entries: Iterable[kinds.Entry]) -> list[kinds.AnyFact]:
    """What was told, typed and armed, in order."""
    return [entry.fact for entry in entries if not isinstance(entry.fact, CAME_FROM_OUTSIDE)]


def decided_again(decider: Decider, entries: Iterable[kinds.Entry]) -> list[kinds.AnyFact]:
    """What the decider tells, types and arms when it is told what came from outside, as it stands there."""
    decided: list[kinds.AnyFact] = []
    for entry in entries:
        commands = []
        if isinstance(entry.fact, kinds.BytesReceived):
            commands += decider.received(kinds.to_bytes(entry.fact.bytes), entry.at_us)
        commands += decider.note(entry)
        for command in commands:
            match command:
                case Tell(fact=fact):
                    decided.append(fact)
                case Arm(name=name, due_us=due_us):
                    decided.append(kinds.DeadlineArmed(name=name, due_us=due_us))
                case Type(by=by, secret=True):
                    decided.append(kinds.SecretTyped(by=by))
                case Type(data=data, by=by):
                    for byte in data:
                        decided.append(kinds.BytesTyped(bytes=kinds.to_text(bytes((byte,))), count=1, by=by))
    return decided


def stand_in_secrets(folder: Folder) -> dict[str, str]:
    """For each secret one character: no recording tells more of it, so anything must do."""
    return {
        step.secret: "?"
        for script in folder.scripts.values()
        for step in (*script.steps, *script.tidy_up)
        if isinstance(step, TypeSecret)
    }


def decider_again(folder: Folder, wanted: Wanted | ByTheDay | None, entries: list[kinds.Entry]) -> Decider:
    """A new decider for this recording, which doesn't know the secrets."""
    opened = entries[0].fact
    assert isinstance(opened, kinds.RecordingOpened)
    return decider_for(folder, opened, wanted, stand_in_secrets(folder))


def check_decided_again(folder: Folder, wanted: Wanted | ByTheDay | None, entries: list[kinds.Entry]) -> None:
    """Nothing is decided otherwise than it was. A recording that ends early misses only the last orders."""
    then = decided_then(entries)
    again = decided_again(decider_again(folder, wanted, entries), entries)
    for number, (one, other) in enumerate(zip(then, again, strict=False)):
        assert one == other, f"decision {number}: recorded {one}, now {other}"
    assert len(again) >= len(then)
    if isinstance(entries[-1].fact, kinds.RecordingClosed):
        assert again[len(then) :] == []
