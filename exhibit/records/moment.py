"""How it was at a moment of a recording: screen, script and step, caption and why, what was typed, readings.

moment = moment_at(path, local="14:32:05")      # or moment_at(path, seq=2931)
moment.rows, moment.typed, moment.readings ...
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

import msgspec

from exhibit.decisions.page.console_view import ConsoleView
from exhibit.facts import kinds
from exhibit.facts.errors import RecordingFault, SetUpFault
from exhibit.facts.fact import Words, name_on_disc
from exhibit.facts.wall_times import WallTimes
from exhibit.records.excerpt.places import Showed, showed
from exhibit.records.index.fact_words import fact_words
from exhibit.records.transcript import SECRET, key_words
from exhibit.streams.keyframes import Keyframes
from exhibit.streams.recording import Damaged, find_seq, find_time, read, read_opened

MOMENT_VERSION: Final = "engineer's moment 2"
"""The form of snapshot(): keyframes of another form are not used."""
LONGEST_TYPED: Final = 500


class Typed(msgspec.Struct):
    """What was typed last, up to its RETURN."""

    seq: int
    at_us: int
    by: str
    text: str
    over: bool = False


class Running(msgspec.Struct):
    """A script or step that runs."""

    seq: int
    at_us: int
    name: str
    round: int = 0


class Caption(msgspec.Struct):
    """The caption that was shown last."""

    seq: int
    at_us: int
    caption: str
    kind: str
    part: str
    words: Words
    because: list[int]


class Read(msgspec.Struct):
    """A reading as it was taken last."""

    seq: int
    at_us: int
    value: str


class State(msgspec.Struct):
    """What can be kept as JSON, besides the screen."""

    seq: int = 0
    at_us: int = 0
    script: Running | None = None
    step: Running | None = None
    caption: Caption | None = None
    typed: Typed | None = None
    readings: dict[str, Read] = {}
    troubles: dict[int, str] = {}
    """Those that are not over, by the number of the fact that raised them: its line."""
    line: str = ""
    """"open" or "lost"; empty before it was opened."""


class MomentView:
    """Folds a recording up to a moment (see exhibit.streams.keyframes.Foldable)."""

    def __init__(self) -> None:
        self.state = State()
        self.opened: kinds.RecordingOpened | None = None
        self.clock = WallTimes()
        self._console: ConsoleView | None = None

    def apply(self, entry: kinds.Entry) -> None:
        """Take in the next entry."""
        fact, state = entry.fact, self.state
        state.seq, state.at_us = entry.seq, entry.at_us
        match fact:
            case kinds.BytesReceived(bytes=text):
                if self._console is not None:
                    self._console.receive(text, entry.seq)
            case (
                kinds.BytesTyped(bytes=text, by=by, secret=secret)
                | kinds.TypedByHand(bytes=text, by=by, secret=secret)
            ):
                self._type(entry, SECRET if secret else text, by)
            case kinds.SecretTyped(by=by):
                self._type(entry, SECRET, by)
            case kinds.RecordingOpened():
                self.opened = fact
                self.clock.set(fact.wall, entry.at_us, fact.rate)
                self._console = ConsoleView(fact, entry.seq)
            case kinds.CarriedOver() if self._console is not None:
                self._console.carry_over(fact, entry.seq)
            case kinds.ClockStepped(wall=wall):
                self.clock.set(wall, entry.at_us)
            case kinds.Heartbeat(wall=wall):
                self.clock.follow_offset(wall, entry.at_us)
            case kinds.ReadingTaken(display=display, name=name, value=value, table=table):
                text = f"{value}" if table is None else "; ".join(" ".join(row.values()) for row in table)
                state.readings[f"{display}.{name}"] = Read(entry.seq, entry.at_us, text)
            case _:
                self._session(entry, fact)

    def _session(self, entry: kinds.Entry, fact: kinds.AnyFact | kinds.UnknownFact) -> None:
        state = self.state
        match fact:
            case kinds.ScriptStarted(script=script, round=round_):
                state.script, state.step = Running(entry.seq, entry.at_us, script, round_), None
            case kinds.ScriptEnded():
                state.script = state.step = None
            case kinds.StepStarted(script=script, step=step):
                state.step = Running(entry.seq, entry.at_us, f"{script}.{step}")
            case kinds.StepEnded() | kinds.StepFailed() | kinds.StepLeftOut():
                state.step = None
            case kinds.CaptionShown():
                state.caption = Caption(
                    entry.seq,
                    entry.at_us,
                    fact.caption,
                    fact.kind,
                    fact.part,
                    fact.words,
                    fact.because,
                )
            case kinds.TroubleRaised(trouble=trouble, line=line, since=since):
                # One of an earlier recording: the machine hasn't printed it again.
                before = f" (an earlier recording's, of {since[:16].replace('T', ' ')})" if since else ""
                state.troubles[entry.seq] = f"{trouble}: {line}{before}"
            case kinds.TroubleOver(raised=raised):
                state.troubles.pop(raised, None)
            case kinds.LineOpened():
                state.line = "open"
            case kinds.LineLost():
                state.line = "lost"

    def _type(self, entry: kinds.Entry, text: str, by: str) -> None:
        by = self.state.step.name if self.state.step is not None else by
        typed = self.state.typed
        if typed is None or typed.over or typed.by != by:
            typed = self.state.typed = Typed(entry.seq, entry.at_us, by, "")
        if not (text == SECRET and typed.text.endswith(SECRET)):
            typed.text = (typed.text + text)[-LONGEST_TYPED:]
        typed.over = text.endswith(("\r", "\n"))

    @property
    def rows(self) -> list[str]:
        """The screen, row by row."""
        return self._console.text_rows() if self._console is not None else []

    def console_batch(self, after_seq: int) -> dict[str, Any]:
        """What changed on the console after fact `after_seq`, as a page gets it; 0 gives all."""
        return self._console.batch(after_seq, self.state.seq) if self._console is not None else {}

    def snapshot(self) -> Any:
        """As plain JSON values, for a keyframe."""
        if self.opened is None or self._console is None:
            return None
        return {
            "state": msgspec.to_builtins(self.state, str_keys=True),
            "opened": msgspec.to_builtins(msgspec.structs.replace(self.opened, pictures={})),
            "clock": self.clock.snapshot(),
            "console": self._console.snapshot(),
        }

    def restore(self, snapshot: Any) -> None:
        """Go on from a snapshot."""
        self.state = msgspec.convert(snapshot["state"], State, strict=False)
        self.opened = msgspec.convert(snapshot["opened"], kinds.RecordingOpened)
        self.clock.restore(snapshot["clock"])
        self._console = ConsoleView(self.opened, self.state.seq)
        self._console.restore(snapshot["console"], self.state.seq)


class Because(msgspec.Struct, frozen=True):
    """A fact on which the caption rests."""

    seq: int
    at: str
    kind: str
    text: str


class Moment(msgspec.Struct, frozen=True):
    """How it was at one moment. `at` is by the museum's computer (RFC 3339)."""

    recording: str
    machine: str
    simulated: bool
    seq: int
    """The last fact before or at the moment."""
    at: str
    rows: list[str]
    line: str
    script: Running | None
    step: Running | None
    caption: Caption | None
    because: list[Because]
    typed: Typed | None
    readings: dict[str, Read]
    troubles: dict[int, str]
    walls: dict[int, str]
    """The date and time of each `at_us` above."""
    clock: str = ""
    """Where a time was asked for and the computer's clock was set: which moment this is. Otherwise empty."""


def moment_at(path: Path, *, seq: int | None = None, local: str = "", cache: Path | None = None) -> Moment:
    """The moment of a fact, or at a local date and time ("14:32:05", "2026-11-25 14:32:05").

    A time alone is the first such moment of the recording; if the clock was set, `Moment.clock` says which.
    `cache`: the folder for keyframes; None means the usual one. Raises RecordingFault; and SetUpFault if the
    recording doesn't have that moment.
    """
    read_opened(path)
    frames = Keyframes(path, MomentView, MOMENT_VERSION, cache)
    if seq is not None:
        view = frames.seek(seq=seq).view
        if view.state.seq < seq:
            raise _no_fact(path, seq, view.state.seq)
        return _moment(path, view)
    found = showed(path, local)
    again = [find_time(path, at_us + 1).seq for at_us in found.again_us]
    return _moment(path, frames.seek(at_us=found.at_us).view, _clock_words(local, found, again))


def _clock_words(asked: str, found: Showed, again: list[int]) -> str:
    if found.skipped is not None:
        left, reached = (f"{moment:%Y-%m-%d %H:%M:%S.%f}"[:23] for moment in found.skipped)
        return (
            f"The computer's clock went from {left} to {reached} at once, so it never showed {asked}. "
            "This is the last moment before."
        )
    if not again:
        return ""
    times = "twice" if len(again) == 1 else f"{len(again) + 1} times"
    others = " or ".join(f"--fact {seq}" for seq in again)
    return (
        f"The computer's clock went back meanwhile, so it showed {asked} {times}. This is the first time; "
        f"for {'the second' if len(again) == 1 else 'a later one'} use {others}."
    )


def _moment(path: Path, view: MomentView, clock_words: str = "") -> Moment:
    state, clock = view.state, view.clock
    opened = view.opened
    if opened is None:
        raise RecordingFault(
            f"The first line of {path} can't be read.",
            "It says what machine this was, so nothing can be shown.",
            "Get another copy of the recording, or mend this one.",
        )
    shown = [one for one in (state.script, state.step, state.caption, state.typed) if one is not None]
    times = {one.at_us for one in [*shown, *state.readings.values()]}
    if state.typed is not None:
        state.typed.text = "".join(map(key_words, state.typed.text)).strip()
    because = [] if state.caption is None else [_because(path, seq, clock) for seq in state.caption.because]
    # What was received says less than what was recognised in it.
    because = [one for one in because if one.kind != "bytes_received"] or because
    return Moment(
        recording=path.name,
        machine=opened.machine,
        simulated=opened.machine_is == "simulated",
        seq=state.seq,
        at=clock.wall(state.at_us),
        rows=view.rows,
        line=state.line,
        script=state.script,
        step=state.step,
        caption=state.caption,
        because=because,
        typed=state.typed,
        readings=state.readings,
        troubles=state.troubles,
        walls={at_us: clock.wall(at_us) for at_us in sorted(times)},
        clock=clock_words,
    )


def _because(path: Path, seq: int, clock: WallTimes) -> Because:
    """The fact of this number; without words if it can't be read."""
    for entry in read(path, find_seq(path, seq)):
        if isinstance(entry, Damaged) or entry.seq != seq:
            break
        fact = entry.fact
        kind = fact.name if isinstance(fact, kinds.UnknownFact) else name_on_disc(type(fact).__name__)
        return Because(seq, clock.wall(entry.at_us), kind, fact_words(fact) or _shown(fact))
    return Because(seq, "", "", "")


def _shown(fact: kinds.AnyFact | kinds.UnknownFact) -> str:
    match fact:
        case kinds.BytesReceived(bytes=text) | kinds.BytesTyped(bytes=text):
            return " ".join("".join(map(key_words, text)).split())
        case kinds.PatternSeen(pattern=pattern, line=line):
            return f"{pattern}: {line}"
        case kinds.StepEnded(script=script, step=step):
            return f"{script}.{step}"
    return ""


def _no_fact(path: Path, seq: int, before: int) -> SetUpFault:
    """Why a fact can't be shown: it is damaged, if the recording goes on after it."""
    after = next((one for one in read(path, find_seq(path, seq)) if isinstance(one, kinds.Entry)), None)
    if after is None or after.seq <= seq:
        return _not_in(path, f"fact {seq}", f"Its last fact that can be read is {before}.")
    return SetUpFault(
        f"Fact {seq} of {path} is damaged and can't be read.",
        f"Those that can be read go on from fact {after.seq}, and the one before it is {before}.",
        f"`exhibit mend` shows what can be put right; or show fact {before} or {after.seq}.",
    )


def _not_in(path: Path, what: str, has: str) -> SetUpFault:
    return SetUpFault(
        f"{path} has no {what}.",
        has,
        "Choose a moment within it; `exhibit find` prints moments that can be shown.",
    )
