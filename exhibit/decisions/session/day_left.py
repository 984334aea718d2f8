"""How the day stood at the end of a recording, folded from its entries for the recording that follows."""

from __future__ import annotations

import datetime

import msgspec

from exhibit.decisions.decider import THIS_COMPUTER
from exhibit.decisions.session.day_phase import Day
from exhibit.facts import kinds
from exhibit.facts.clock import read_wall


class DayLeft:
    """Take the entries in order, but for the frequent ones; then `kept` says how the day stood."""

    def __init__(self) -> None:
        self._day: Day | None = None
        self._wall, self._wall_us, self._rate = datetime.datetime.min.replace(tzinfo=datetime.UTC), 0, 1.0
        self._at_us = 0
        self._failed = self._holder = ""

    @property
    def kept(self) -> kinds.DayKept | None:
        """How it stood; None if that recording is of no day."""
        if self._day is None or not self._day.is_told:
            return None
        had_it = f"{self._holder} had the keyboard when the program ended" if self._holder else ""
        return msgspec.structs.replace(self._day.kept(self._at_us), failed=self._failed or had_it)

    def take(self, entry: kinds.Entry) -> None:
        """Takes the next entry."""
        fact, self._at_us = entry.fact, entry.at_us
        match fact:
            case kinds.RecordingOpened(wall=wall, rate=rate):
                self._wall, self._wall_us, self._rate = read_wall(wall), entry.at_us, rate
                self._day = Day(self._wall_at, rate)
            case kinds.ClockStepped(wall=wall):
                self._wall, self._wall_us = read_wall(wall), entry.at_us
        if self._day is None:
            return
        match fact:
            case kinds.LastRecordingRead(day=day) if day is not None:
                self._day.go_on(day, entry.at_us)
            case kinds.CarriedOver(day=day) if day is not None:
                self._day.after_midnight(day, entry.at_us)
            case kinds.DayTurned(phase=phase, by=by, why=why, until_us=until_us):
                self._day.turn(phase, by, why, until_us)
            case kinds.ScriptStarted(round=number) if number:
                self._day.rounds = number
            case kinds.RequestMade(by=by) if by != THIS_COMPUTER:
                self._day.is_seen(entry.at_us)
            case kinds.RequestRefused():
                self._day.is_not_seen()
            case kinds.SessionFailed(why=why):
                self._failed = why
            case kinds.SessionCleared():
                self._failed = ""
            case kinds.KeyboardTaken(by=by):
                self._holder = by
            case kinds.KeyboardGivenBack():
                self._holder = ""

    def _wall_at(self, at_us: int) -> datetime.datetime:
        return self._wall + datetime.timedelta(microseconds=(at_us - self._wall_us) / self._rate)
