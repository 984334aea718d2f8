"""Rows about troubles, notes, and about times of which something isn't known."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from exhibit.facts import kinds
from exhibit.records.index.moments import Here, Moments
from exhibit.records.index.rows import CarriedTroubleRow, GapRow, LineErrorsRow, NoteRow, Placed, TroubleRow
from exhibit.streams.recording import Damaged

_LINE_LOST: Final = "line lost"
_SILENT: Final = "machine silent"


class TroubleRows:
    """Follows one recording; each call gives the rows that are complete now."""

    def __init__(self, moments: Moments) -> None:
        self._now = moments
        self._troubles: dict[int, TroubleRow | CarriedTroubleRow] = {}
        self._open_gaps: dict[str, tuple[Here, str]] = {}
        """By kind: where it began, and why."""
        self._damages: list[Damaged] = []
        """Those after the last fact that could be read."""

    def take(self, fact: kinds.AnyFact | kinds.UnknownFact) -> Iterator[Placed]:
        """Takes the next fact."""
        now = self._now
        match fact:
            case kinds.TroubleRaised(since=""):
                self._troubles[now.seq] = self._raised(fact)
            case kinds.TroubleRaised(trouble=trouble, since=since):  # one of an earlier recording
                self._troubles[now.seq] = CarriedTroubleRow(
                    **now.here(),
                    trouble=trouble,
                    since=since,
                    seen_at="",
                    set_aside_at="",
                    over_at="",
                    over_how="",
                )
            case kinds.TroubleSeen() | kinds.TroubleSetAside() | kinds.TroubleOver():
                self._then(fact)
            case kinds.NoteMade(kind=kind, by=by, digest=digest):
                yield NoteRow(**now.here(), kind=kind, by=by, digest=digest)
            case kinds.LineLost(why=why):
                self._open_gaps.setdefault(_LINE_LOST, (now.here(), why))
            case kinds.LineOpened():
                yield from self._over(_LINE_LOST)
                yield from self._over(_SILENT)
            case kinds.MachineSilent(due=due):
                # It is told of only after a while; it was silent from its last character on.
                since_us = max(0, min(fact.since_us, now.at_us))
                self._open_gaps.setdefault(_SILENT, (now.at(now.seq, since_us), due))
            case kinds.HeardAgain():
                yield from self._over(_SILENT)
            case kinds.BytesMissed(received=received, typed=typed, why=why):
                said = f"{received} received, {typed} typed: {why}"
                yield self._gap(now.here(), "characters missed", why=said)
            case kinds.ClockStepped(by_us=by_us):
                yield self._gap(now.here(), "clock stepped", why=f"by {by_us / 1e6:g} s")
            case kinds.LineErrorsCounted():
                yield LineErrorsRow(
                    **now.here(),
                    parity=fact.parity,
                    framing=fact.framing,
                    overrun=fact.overrun,
                    breaks=fact.breaks,
                )

    def lost(self, damaged: Damaged) -> None:
        """A place of the recording that can't be read. How many facts it had, the next one tells."""
        self._damages.append(damaged)

    def found(self, seq: int, at_us: int) -> Iterator[Placed]:
        """The fact after a damaged place, before `Moments` takes it."""
        missing = max(0, seq - self._now.seq - 1)
        for damaged in self._damages:
            yield self._damaged(damaged, at_us - self._now.at_us, missing)
            missing = 0
        self._damages = []

    @property
    def is_damaged(self) -> bool:
        """Whether something before the next fact could not be read."""
        return bool(self._damages)

    def end(self) -> Iterator[Placed]:
        """The recording is over."""
        yield from self._troubles.values()
        for kind in [*self._open_gaps]:
            yield from self._over(kind)
        for damaged in self._damages:
            yield self._damaged(damaged, 0, 0)

    def _raised(self, fact: kinds.TroubleRaised) -> TroubleRow:
        now = self._now
        return TroubleRow(
            **now.here(),
            trouble=fact.trouble,
            line=fact.line,
            words=now.first_words(fact.words),
            repeats=fact.repeats,
            times=fact.times,
            call=fact.call,
            safe_to_leave=fact.safe_to_leave,
            script=now.script,
            step=now.step,
            round=now.round,
            parts=now.parts,
            seen_at="",
            set_aside_at="",
            over_at="",
            over_how="",
            on_s=now.on_s,
        )

    def _then(self, fact: kinds.TroubleSeen | kinds.TroubleSetAside | kinds.TroubleOver) -> None:
        trouble = self._troubles.get(fact.raised)
        if trouble is None:
            return
        at = self._now.times.wall(self._now.at_us)
        match fact:
            case kinds.TroubleSeen():
                trouble = replace(trouble, seen_at=trouble.seen_at or at)
            case kinds.TroubleSetAside():
                trouble = replace(trouble, set_aside_at=at)
            case kinds.TroubleOver(how=how):
                trouble = replace(trouble, over_at=at, over_how=how)
        self._troubles[fact.raised] = trouble

    def _over(self, kind: str) -> Iterator[GapRow]:
        if kind in self._open_gaps:
            here, why = self._open_gaps.pop(kind)
            yield self._gap(here, kind, why=why, lasted_us=self._now.at_us - here["at_us"])

    def _damaged(self, damaged: Damaged, lasted_us: int, lost_facts: int) -> GapRow:
        return self._gap(
            self._now.here(),
            "torn" if damaged.torn else "damaged",
            why=damaged.why,
            lasted_us=lasted_us,
            lost_facts=lost_facts,
            offset_bytes=damaged.offset_bytes,
            length_bytes=damaged.length_bytes,
        )

    @staticmethod
    def _gap(
        here: Here,
        kind: str,
        *,
        why: str,
        lasted_us: int = 0,
        lost_facts: int = 0,
        offset_bytes: int = 0,
        length_bytes: int = 0,
    ) -> GapRow:
        return GapRow(
            **here,
            kind=kind,
            lasted_us=lasted_us,
            lost_facts=lost_facts,
            offset_bytes=offset_bytes,
            length_bytes=length_bytes,
            why=why,
        )
