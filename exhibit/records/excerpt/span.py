"""A span of a recording: what the screen showed, what went along the line, and what happened."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

import msgspec

from exhibit.facts import kinds
from exhibit.facts.clock import real_s
from exhibit.facts.errors import SetUpFault
from exhibit.facts.fact import name_on_disc
from exhibit.records.excerpt.moment_words import MomentWords
from exhibit.records.excerpt.privacy import Privacy
from exhibit.records.moment import MOMENT_VERSION, MomentView
from exhibit.streams.keyframes import Keyframes
from exhibit.streams.recording import Damaged, read

MOST_FACTS: Final = 60_000
"""About an hour of a machine that prints all the time. A browser draws so much without waiting."""
_SECRET: Final = "a secret"


class Moment(msgspec.Struct, frozen=True):
    """Something that happened. `ms` is real time since the span began."""

    seq: int
    ms: int
    at: str
    fact: str
    kind: str
    said: str
    picture: str = ""
    """A photograph, as an address that contains it."""


class Piece(msgspec.Struct, frozen=True):
    """Characters that went along the line together."""

    first_ms: int
    ms: int
    by: str
    """Who typed them; empty for what the machine sent."""
    bytes: str
    """Each character represents the byte of its number; empty for a secret."""
    instead: str = ""
    """What is said instead of a secret."""


class Step(msgspec.Struct):
    """A step that was running in the span. Its times are real ones; None where the span doesn't show it."""

    name: str
    from_ms: int | None
    until_ms: int | None = None
    ended: str = ""
    """"done", "failed" or "left out"; empty while it runs on."""


class Span(msgspec.Struct, frozen=True):
    """All that an excerpt is made from."""

    file: str
    opened: kinds.RecordingOpened
    tag: str
    from_at: str
    until_at: str
    length_ms: int
    moments: list[Moment]
    pieces: list[Piece]
    screens: list[tuple[int, dict[str, Any]]]
    """What changed on the screen and when, as a page gets it; the first is the whole screen."""
    steps: list[Step]
    entries: list[kinds.Entry]
    damaged: bool


def take_span(path: Path, from_us: int, until_us: int, tag: str | None, privacy: Privacy) -> Span:
    """The span between two times of the recording's clock. `tag`: a language; None for the recording's first.

    Raises RecordingFault; and SetUpFault if nothing happened in it, too much did, or it has no such language.
    """
    found = Keyframes(path, MomentView, MOMENT_VERSION).seek(at_us=from_us - 1)
    view = found.view
    taking: _Taking | None = None
    for entry in read(path, found.position):
        if isinstance(entry, Damaged):
            if taking is not None:
                taking.damaged = True
            continue
        if entry.at_us > until_us:
            break
        if taking is None and view.opened is not None:
            privacy.left_out(path)
            taking = _Taking(view, from_us, _tag(path, view.opened, tag), privacy)
        view.apply(entry)
        if taking is None:
            if view.opened is None:
                continue
            privacy.left_out(path)
            taking = _Taking(view, from_us, _tag(path, view.opened, tag), privacy)
        taking.take(entry)
        if len(taking.entries) > MOST_FACTS:
            raise SetUpFault(
                f"More than {MOST_FACTS} things happened in this span of {path.name}.",
                "A browser would take long to show so much, and nobody could find anything in it.",
                "Choose a shorter span.",
            )
    if taking is None or view.opened is None or not taking.entries:
        raise SetUpFault(
            f"Nothing is recorded in this span of {path.name}.",
            "There is nothing to carry away.",
            "Choose another span; `exhibit text` prints what there is.",
        )
    return taking.span(path, view.opened, until_us)


def _tag(path: Path, opened: kinds.RecordingOpened, tag: str | None) -> str:
    if tag is not None and tag not in opened.languages:
        raise SetUpFault(
            f"{path} has no words in the language {tag!r}.",
            f"Its languages are: {', '.join(opened.languages)}.",
            "Choose one of those with --language.",
        )
    return tag or next(iter(opened.languages), "en")


class _Taking:
    """Gathers the span, entry by entry."""

    def __init__(self, view: MomentView, from_us: int, tag: str, privacy: Privacy) -> None:
        assert view.opened is not None
        self._view, self._from_us, self._rate, self._tag = view, from_us, view.opened.rate, tag
        self._privacy = privacy
        self._words = MomentWords(tag, privacy)
        self.damaged = False
        self.entries: list[kinds.Entry] = []
        self._moments: list[Moment] = []
        self._pieces: list[Piece] = []
        running = view.state.step
        self._steps: list[Step] = [Step(running.name, None)] if running is not None else []
        self._screens: list[tuple[int, dict[str, Any]]] = [(0, view.console_batch(0))]

    def take(self, entry: kinds.Entry) -> None:
        """The next entry, which the view has taken."""
        self.entries.append(entry)
        fact, ms = entry.fact, self._ms(entry.at_us)
        match fact:
            case kinds.BytesReceived(bytes=data, first_us=first_us):
                self._pieces.append(Piece(self._ms(first_us), ms, "", data))
                console = self._view.console_batch(entry.seq - 1)
                if console:
                    self._screens.append((ms, console))
            case kinds.BytesTyped() | kinds.TypedByHand():
                secret = _SECRET if fact.secret else ""
                by = self._privacy.person(fact.by)
                self._pieces.append(Piece(ms, ms, by, "" if secret else fact.bytes, secret))
            case kinds.SecretTyped(by=by):
                self._pieces.append(Piece(ms, ms, self._privacy.person(by), "", _SECRET))
            case kinds.SecretWithheld() | kinds.BytesWithheld():
                self._pieces.append(Piece(ms, ms, "", "", _SECRET))
            case kinds.StepStarted(script=script, step=step):
                self._steps.append(Step(f"{script}.{step}", ms))
            case kinds.StepEnded(script=script, step=step):
                self._end(f"{script}.{step}", ms, "done")
            case kinds.StepFailed(script=script, step=step):
                self._end(f"{script}.{step}", ms, "failed")
            case kinds.StepLeftOut(script=script, step=step):
                self._end(f"{script}.{step}", ms, "left out")
        kind, said = self._words.of(fact)
        if kind:
            name = fact.name if isinstance(fact, kinds.UnknownFact) else name_on_disc(type(fact).__name__)
            photograph = isinstance(fact, kinds.NoteMade) and fact.kind == "photograph"
            picture = self._privacy.picture(fact.digest) if photograph else ""  # type: ignore[union-attr]
            at = self._view.clock.wall(entry.at_us)
            self._moments.append(Moment(entry.seq, ms, at, name, kind, said, picture))

    def span(self, path: Path, opened: kinds.RecordingOpened, until_us: int) -> Span:
        """What was gathered."""
        last_us = min(until_us, self.entries[-1].at_us)
        return Span(
            file=path.name,
            opened=opened,
            tag=self._tag,
            from_at=self._view.clock.wall(self._from_us),
            until_at=self._view.clock.wall(last_us),
            length_ms=self._ms(last_us),
            moments=self._moments,
            pieces=self._pieces,
            screens=self._screens,
            steps=self._steps,
            entries=self.entries,
            damaged=self.damaged,
        )

    def _ms(self, at_us: int) -> int:
        return max(0, round(real_s(at_us - self._from_us, self._rate) * 1000))

    def _end(self, name: str, ms: int, how: str) -> None:
        running = next((one for one in reversed(self._steps) if one.name == name and not one.ended), None)
        if running is None:
            running = Step(name, None)
            self._steps.insert(0, running)
        running.until_ms, running.ended = ms, how
