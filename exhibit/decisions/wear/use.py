"""The sum of the use: exerciser time, hours, starts and stops of parts, disc errors, packs mounted.

    use = Use(recording_opened)             # continues from the use before that recording
    for entry in recording:
        use.note(entry.at_us, entry.fact)
    next_recording_opened.use_before = use.before(at_us)

So the sum covers all recordings of a machine, though only the last one is read. It needs nothing but recorded
facts, not even the folder. Times are real time: at a rate of 20 an exerciser of four minutes counts as 12 s.
An exerciser whose end nobody saw counts until it would have ended by itself.
"""

from __future__ import annotations

import datetime
import zlib
from collections.abc import Callable
from typing import Any, Final

import msgspec

from exhibit.decisions.wear.doubts import Doubts, doubt_of
from exhibit.decisions.wear.exercised import LastHour, Span
from exhibit.facts import kinds
from exhibit.facts.clock import read_wall, write_wall
from exhibit.facts.units import H_US
from exhibit.facts.use_before import DayUse, MountedPack, PartUse, Running, Stretch, UseBefore

LONG_GAP_US: Final = H_US
"""After this long without a recording, nobody knows whether parts and exercisers without an end still run."""
UNWATCHED: Final = "it doesn't end by itself, and nothing was recorded for more than an hour"
DAYS_KEPT: Final = 7
LOG_ENTRIES_KEPT: Final = 300


class Busy(msgspec.Struct):
    """A running exerciser. `ends_us` is on the recording's clock; None: it runs until it is stopped."""

    exerciser: str
    job: str
    ends_us: int | None


class Use:
    """The use up to the last fact, by the clock of the recording that begins with `opened`."""

    def __init__(self, opened: kinds.RecordingOpened) -> None:
        self._rate = opened.rate
        self._wall, self._wall_us = read_wall(opened.wall), 0
        self._at_us = 0
        before = opened.use_before or UseBefore(at=opened.wall)
        kept = msgspec.convert(msgspec.to_builtins(before), UseBefore)
        self._days, self._years, self.parts = kept.days, kept.years, kept.parts
        self.readings, self.packs = kept.readings, kept.packs
        self._log_entries = kept.log_entries
        # If the clock was set back in between, earlier use would lie in the future: shift it into the past.
        ahead_us = max(0, self._us_of(kept.at))

        def us_of(wall: str) -> int:
            return self._us_of(wall) - ahead_us

        self.running = [Busy(r.exerciser, r.job, us_of(r.ends) if r.ends else None) for r in kept.running]
        self.doubts = Doubts(doubt_of(one, us_of(one.ends) if one.ends else 0) for one in kept.in_doubt)
        spans = [Span(us_of(s.began), us_of(s.ended), s.exercisers) for s in kept.stretches]
        self._hour = LastHour(spans, self._real_us, self._clock_us)
        self.out_of_sight: list[kinds.JobInDoubt] = []
        """What became doubtful in a long gap before this recording: record it."""
        self.round_ended_us = us_of(kept.round_ended) if kept.round_ended else None
        self._pass_gap(us_of(kept.at))

    def note(self, at_us: int, fact: kinds.AnyFact | kinds.UnknownFact) -> None:
        """Takes the next fact."""
        self.doubts.note(fact)
        take = _TAKERS.get(type(fact))
        if take is not None:
            self.pass_time(at_us)
            take(self, fact)

    def pass_time(self, at_us: int) -> None:
        """Counts the use up to `at_us`, which is now."""
        self._pass(at_us, parts_run=True)

    # -- sums ---------------------------------------------------------------------------------

    def hour_us(self) -> int:
        """Exerciser time in the last hour, in real microseconds."""
        return self._hour.exercised_us(self._at_us)

    def rest_of_running_us(self) -> int:
        """How much longer the running exercisers run if nobody stops them; those without an end excluded."""
        return sum(
            self._real_us(busy.ends_us - self._at_us) for busy in self.running if busy.ends_us is not None
        )

    def hour_is_below_us(self, most_us: int) -> int:
        """When, on the recording's clock, the last hour's exerciser time will be at most `most_us`."""
        ends_us = [busy.ends_us for busy in self.running if busy.ends_us is not None]
        return self._hour.is_below_us(most_us, self._at_us, ends_us)

    @property
    def today(self) -> DayUse:
        """The use on the present date."""
        return self._days.get(self._date(), DayUse())

    @property
    def year_us(self) -> int:
        """Exerciser time in the present year."""
        return self._years.get(self._date()[:4], 0)

    @property
    def errors_today(self) -> int:
        """Today's disc errors. Readings and error logs report the same ones, so this is the higher count."""
        return max(self.today.errors.values(), default=0)

    def knows_log_entry(self, line: str) -> bool:
        """Whether this line of an error log has already been counted."""
        return _mark_of(line) in self._log_entries

    def minute_of_day(self) -> int:
        """Whole minutes since midnight."""
        now = self.wall()
        return now.hour * 60 + now.minute

    def wall(self, at_us: int | None = None) -> datetime.datetime:
        """The date and time at a time on the recording's clock; now if none is given."""
        past_us = (self._at_us if at_us is None else at_us) - self._wall_us
        return self._wall + datetime.timedelta(microseconds=self._real_us(past_us))

    def is_running(self, part: str) -> bool:
        """Whether the part has been started, and not stopped since."""
        use = self.parts.get(part)
        return use is not None and bool(use.running_since)

    @property
    def stopped(self) -> set[str]:
        """The parts that were seen to stop, and not to start again."""
        return {name for name, part in self.parts.items() if part.stopped}

    def before(self, at_us: int) -> UseBefore:
        """The use with which the next recording begins if this one ends at `at_us`."""
        self.pass_time(at_us)
        used = UseBefore(
            at=self._wall_text(self._at_us),
            days=self._days_kept(),
            years=self._years,
            parts=self.parts,
            stretches=[
                Stretch(
                    began=self._wall_text(s.from_us), ended=self._wall_text(s.to_us), exercisers=s.exercisers
                )
                for s in self._hour.since(self._at_us)
            ],
            running=[
                Running(
                    exerciser=b.exerciser,
                    job=b.job,
                    ends="" if b.ends_us is None else self._wall_text(b.ends_us),
                )
                for b in self.running
            ],
            in_doubt=[d.for_later(self._wall_text(d.ends_us) if d.ends_us else "") for d in self.doubts.all],
            readings=self.readings,
            log_entries=self._log_entries[-LOG_ENTRIES_KEPT:],
            packs=self.packs,
            round_ended="" if self.round_ended_us is None else self._wall_text(self.round_ended_us),
        )
        return msgspec.convert(msgspec.to_builtins(used), UseBefore)

    def _days_kept(self) -> dict[str, DayUse]:
        """The last few days, and always today: a clock that was wrong may have added later days."""
        today, days = self._date(), sorted(self._days.items())
        return dict([*(one for one in days[:-DAYS_KEPT] if one[0] == today), *days[-DAYS_KEPT:]])

    # -- facts --------------------------------------------------------------------------------

    def _clock(self, fact: kinds.Heartbeat | kinds.ClockStepped) -> None:
        self._wall, self._wall_us = read_wall(fact.wall), self._at_us

    def _exerciser_begun(self, fact: kinds.ExerciserBegun) -> None:
        self.running = [busy for busy in self.running if not _is(busy, fact)]
        self.running.append(Busy(fact.exerciser, fact.job, fact.ends_us or None))

    def _exerciser_ended(self, fact: kinds.ExerciserEnded) -> None:
        self.running = [busy for busy in self.running if not _is(busy, fact)]

    def _part_started(self, fact: kinds.PartStarted) -> None:
        part = self.parts.setdefault(fact.part, PartUse())
        part.stopped = False
        # SCRIPT.STEP is a step that a person confirmed. A start that both a person and the machine report is
        # one start. If one of them reports it twice, there were two, and nobody saw the stop in between.
        source = "a person" if "." in fact.by else "the machine"
        if part.running_since and source not in part.running_since:
            part.running_since.append(source)
            return
        part.starts += 1
        part.running_since = [source]
        part.since, part.ran_before_us = self._wall_text(self._at_us), part.run_us
        starts = self._of_today().starts
        starts[fact.part] = starts.get(fact.part, 0) + 1

    def _part_stopped(self, fact: kinds.PartStopped) -> None:
        part = self.parts.setdefault(fact.part, PartUse())
        if part.running_since:
            part.running_since, part.stopped = [], True
            part.stops += 1
            stops = self._of_today().stops
            stops[fact.part] = stops.get(fact.part, 0) + 1

    def _disc_errors_counted(self, fact: kinds.DiscErrorsCounted) -> None:
        errors = self._of_today().errors
        if fact.entry:
            self._log_entries = [*self._log_entries[-LOG_ENTRIES_KEPT + 1 :], _mark_of(fact.entry)]
        else:
            self.readings[fact.by] = fact.stands_at
        if fact.count:
            source = "the error log" if fact.entry else "readings"
            errors[source] = errors.get(source, 0) + fact.count

    def _pack_mounted(self, fact: kinds.PackMounted) -> None:
        pack = MountedPack(label=fact.label, may_be_written=fact.may_be_written, original=fact.original)
        self.packs[fact.drive] = pack

    def _pack_removed(self, fact: kinds.PackRemoved) -> None:
        self.packs.pop(fact.drive, None)

    def _rounds_went_on(self, fact: kinds.RoundsWentOn) -> None:
        self._of_today().went_on += 1

    def _script_started(self, fact: kinds.ScriptStarted) -> None:
        self._in_round = fact.round > 0

    def _script_ended(self, fact: kinds.ScriptEnded) -> None:
        if self._in_round:
            self.round_ended_us = self._at_us

    _in_round = False

    # -- time ---------------------------------------------------------------------------------

    def _pass_gap(self, from_us: int) -> None:
        """Counts the gap between two recordings, from `from_us` to 0, for exercisers but not for parts."""
        self._at_us = from_us
        ended_on = self._date()
        if self._real_us(-from_us) > LONG_GAP_US:
            for busy in [busy for busy in self.running if busy.ends_us is None]:
                doubt = kinds.JobInDoubt(
                    asked=self.doubts.next,
                    exercisers=[busy.exerciser],
                    command="",
                    by="",
                    why=UNWATCHED,
                    job=busy.job,
                )
                self.doubts.note(doubt)
                self.out_of_sight.append(doubt)
            self.running = [busy for busy in self.running if busy.ends_us is not None]
            for part in self.parts.values():
                part.running_since = []
        self._pass(0, parts_run=False)
        if self._real_us(-from_us) > LONG_GAP_US and self._date() != ended_on:
            # On another day the opening asks for each part anew, or somebody has left it out knowingly.
            for part in self.parts.values():
                part.stopped = False

    def _pass(self, to_us: int, *, parts_run: bool) -> None:
        running = [part for part in self.parts.values() if part.running_since] if parts_run else []
        if not running and not self.running:
            self._at_us = max(to_us, self._at_us)
            return
        while self._at_us < to_us:
            ends = [busy.ends_us for busy in self.running if busy.ends_us is not None]
            next_us = max(self._at_us + 1, min([to_us, self._midnight_us(), *ends]))
            real_us = self._real_us(next_us) - self._real_us(self._at_us)
            for part in running:
                part.run_us += real_us
            if self.running:
                self._exercised(next_us, real_us * len(self.running))
            self._at_us = next_us
            self.running = [b for b in self.running if b.ends_us is None or b.ends_us > next_us]

    def _exercised(self, to_us: int, real_us: int) -> None:
        self._of_today().exercised_us += real_us
        year = self._date()[:4]
        self._years[year] = self._years.get(year, 0) + real_us
        self._hour.went_on(self._at_us, to_us, len(self.running))

    def _of_today(self) -> DayUse:
        return self._days.setdefault(self._date(), DayUse())

    def _date(self) -> str:
        return self.wall().date().isoformat()

    def _midnight_us(self) -> int:
        now = self.wall()
        tomorrow = datetime.datetime.combine(
            now.date() + datetime.timedelta(days=1), datetime.time(), now.tzinfo
        )
        return self._at_us + self._clock_us((tomorrow - now) // datetime.timedelta(microseconds=1))

    def _wall_text(self, at_us: int) -> str:
        return write_wall(self.wall(at_us))

    def _us_of(self, wall: str) -> int:
        """The time on the recording's clock."""
        return self._clock_us((read_wall(wall) - self._wall) // datetime.timedelta(microseconds=1))

    def _real_us(self, clock_us: int) -> int:
        return clock_us if self._rate == 1 else round(clock_us / self._rate)

    def _clock_us(self, real_us: int) -> int:
        return real_us if self._rate == 1 else round(real_us * self._rate)


def _is(busy: Busy, fact: kinds.ExerciserBegun | kinds.ExerciserEnded) -> bool:
    return (busy.exerciser, busy.job) == (fact.exerciser, fact.job)


def _mark_of(line: str) -> int:
    return zlib.crc32(line.encode())


_TAKERS: Final[dict[type, Callable[[Use, Any], None]]] = {
    kinds.Heartbeat: Use._clock,
    kinds.ClockStepped: Use._clock,
    kinds.ExerciserBegun: Use._exerciser_begun,
    kinds.ExerciserEnded: Use._exerciser_ended,
    kinds.PartStarted: Use._part_started,
    kinds.PartStopped: Use._part_stopped,
    kinds.DiscErrorsCounted: Use._disc_errors_counted,
    kinds.PackMounted: Use._pack_mounted,
    kinds.PackRemoved: Use._pack_removed,
    kinds.RoundsWentOn: Use._rounds_went_on,
    kinds.ScriptStarted: Use._script_started,
    kinds.ScriptEnded: Use._script_ended,
    kinds.RecordingClosed: lambda use, fact: None,
}
