"""The report before the drive, on one page, and the object's file of a year."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from exhibit import __version__
from exhibit.paper.sheet import Sheet
from exhibit.records.excerpt.privacy import Privacy
from exhibit.records.history import counts
from exhibit.records.history.incidents import OF_THE_RECORDING, Likes
from exhibit.records.history.report_words import SAYS
from exhibit.records.history.visit import LEAST, Visit, shortened, verdicts
from exhibit.records.index.rows import TroubleRow
from exhibit.records.index.start_rows import READY
from exhibit.records.reckoning.error_sums import WARM_S
from exhibit.records.timings import time_text
from exhibit.records.work.listing import measured_words, pack_words, work_words

MOST: Final = {"slower": 5, "erred": 6, "hours": 6, "notes": 3, "bring": 6, "questions": 5}
"""How many lines of each kind fit on a page with the others; where there are more, that is said."""


def report(visit: Visit, privacy: Privacy, *, with_folder: bool) -> str:
    """The report as an HTML file to be printed on A4. `with_folder`: whether the folder is known."""
    page = _Page(visit, privacy)
    page.in_short()
    page.slower()
    page.slower_warm()
    page.erred(MOST["erred"])
    page.bring(with_folder=with_folder)
    page.questions()
    page.hours(MOST["hours"])
    page.notes(MOST["notes"])
    return page.html()


def year_report(visit: Visit, privacy: Privacy) -> str:
    """The object's file of a year: all that was written down, and the sums, on as many pages as needed."""
    page = _Page(visit, privacy, year=f"{visit.since.year}")
    page.in_short()
    page.months()
    page.hours(10_000)
    page.erred(10_000)
    page.written()
    page.notes(10_000)
    return page.html()


class _Page:
    """Puts a visit on paper, section by section."""

    def __init__(self, visit: Visit, privacy: Privacy, year: str = "") -> None:
        self._visit, self._privacy = visit, privacy
        self._machine = visit.rows.recordings[-1].title or visit.rows.machine
        title = self._say("year title" if year else "title", machine=self._machine, year=year)
        kind = SAYS["simulated" if visit.rows.simulated else "real"]
        dates = {day.date for day in visit.days}
        span = self._say(
            "span",
            days=_days(len(dates)),
            since=min(dates, default=visit.since),
            until=visit.until,
            real=kind,
        )
        self._sheet = Sheet(title, "en", [(SAYS["from"], span)], dense=not year)

    def html(self) -> str:
        """The whole file."""
        self._sheet.lines(("small", f"{SAYS['people']} exhibit {__version__}"))
        return self._sheet.html()

    def in_short(self) -> None:
        """Rounds and hours in two sentences."""
        days, hours = self._visit.days, self._visit.history.hours
        done, begun = sum(day.rounds_done for day in days), sum(day.rounds for day in days)
        failed = sum(day.scripts_failed for day in days)
        self._sheet.heading(SAYS["in short"])
        self._sheet.lines(
            ("", self._say("rounds", done=done, all=begun, failed=failed)),
            ("", self._say("on", hours=_hours(hours.hours), exercised=_hours(hours.exercised_h()))),
        )

    def slower(self) -> None:
        """The steps that took longer since, by more than chance; or that nothing can be told."""
        visit, sheet = self._visit, self._sheet
        sheet.heading(SAYS["slower"])
        least = f"{100 * (LEAST - 1):.0f}"
        if not any(step.times for step in visit.steps):
            sheet.lines(("", self._say("no before", since=visit.since)))
            return
        rows = [
            (
                step.name,
                time_text(step.times.first_us),
                time_text(step.times.second_us),
                f"{step.times.ratio:.3g}",
                f"{step.times.chance:.2g}",
            )
            for step in visit.slower[: MOST["slower"]]
            if step.times is not None
        ]
        if rows:
            heads = [SAYS[name] for name in ("step", "before", "since", "times", "chance")]
            sheet.rows(heads, rows)
            sheet.lines(("small", self._say("method", judged=visit.judged, least=least)))
            if any(row[0].endswith(READY) for row in rows):
                sheet.lines(("small", SAYS["ready"]))
        elif visit.judged:
            sheet.lines(("", self._say("no step", judged=visit.judged, least=least)))
        few = sum(step.times is not None and step.times.too_few for step in visit.steps)
        if few:
            sheet.lines(("small", self._say("few", few="1 step" if few == 1 else f"{few} steps")))

    def slower_warm(self) -> None:
        """The steps that took longer once the machine was warm, where there are any."""
        said = [
            f"{step.name} {time_text(step.times.first_us)}, then {time_text(step.times.second_us)} "
            f"(p = {step.times.chance:.2g})"
            for step in self._visit.slower_warm[: MOST["slower"]]
            if step.times is not None
        ]
        if said:
            minutes = f"{WARM_S / 60:.0f}"
            self._sheet.lines(("", self._say("slower warm", minutes=minutes, steps="; ".join(said))))

    def erred(self, most: int) -> None:
        """The kinds of incident, the most frequent first; those of the recording itself last."""
        sheet, likes = self._sheet, self._visit.history.likes
        likes = sorted(likes, key=lambda one: one.kind in OF_THE_RECORDING)
        sheet.heading(SAYS["erred"])
        if not likes:
            sheet.lines(("", SAYS["nothing erred"]))
            return
        heads = [SAYS[name] for name in ("what", "how often", "last", "age")]
        sheet.rows(heads, [self._erred(one) for one in likes[:most]])
        if len(likes) > most:
            sheet.lines(("small", self._say("more", count=len(likes) - most)))

    def _erred(self, one: Likes) -> tuple[str, ...]:
        often = self._say("times on days", times=_times(one.times), days=_days(len(one.days)))
        is_new = self._visit.has_before and one.signature not in self._visit.known_before
        new = f", {SAYS['new']}" if is_new else ""
        ages = [age for age in counts.by_age(one, self._visit.history) if age.hours is not None]
        most = max(ages, key=lambda age: age.times, default=None)
        mostly = most.name if most is not None and most.times * 2 > one.times else ""
        name = shortened(one.signature)
        return name, f"{often}{new}", one.incidents[-1].at[:16].replace("T", " "), mostly

    def bring(self, *, with_folder: bool) -> None:
        """What to bring, as the folder's troubles say."""
        self._sheet.heading(SAYS["bring"])
        things = [
            self._say("because", thing=thing, troubles=", ".join(troubles))
            for thing, troubles in self._visit.bring[: MOST["bring"]]
        ]
        if things:
            self._sheet.listed(things, numbered=False)
        else:
            self._sheet.lines(("", SAYS["nothing to bring" if with_folder else "no folder"]))

    def questions(self) -> None:
        """What the recordings leave open."""
        visit = self._visit
        asked = [
            self._say("not over", date=rows[-1].at[:10], words=words, times=_times(len(rows)))
            for words, rows in _by_words(visit.open_troubles).items()
        ]
        damaged = {row.recording for row in visit.rows.recordings if row.damaged}
        asked += [self._say("damaged", count=len(damaged))] if damaged else []
        if visit.not_ended:
            asked.append(self._say("not ended", count=len(visit.not_ended), last=visit.not_ended[-1]))
        for pack in visit.history.written.packs:
            if pack.original and not pack.copies:
                asked.append(self._say("no copy", label=pack.label))
            elif pack.copies and not pack.verified:
                asked.append(self._say("unverified", label=pack.label))
        asked += [f"{SAYS['work since']} {said}" for said in verdicts(visit)]
        self._sheet.heading(SAYS["questions"])
        if asked:
            self._sheet.listed(asked[: MOST["questions"]], numbered=False)
        else:
            self._sheet.lines(("", SAYS["no questions"]))

    def hours(self, most: int) -> None:
        """Hours and starts of each part, and which limit was passed."""
        wear = self._visit.wear
        self._sheet.heading(SAYS["hours"])
        heads = [SAYS[name] for name in ("part", "h", "starts", "exercised")]
        self._sheet.rows(
            heads,
            [
                (one.part, _hours(one.hours), f"{one.starts}", _hours(one.exercised_h))
                for one in wear.parts[:most]
            ],
        )
        for used in wear.limits:
            if used.over and used.allowed is not None:
                over = {"limit": used.limit, "most": f"{used.most:.3g}", "unit": used.unit, "when": used.when}
                self._sheet.lines(("caution", self._say("over", **over, allowed=f"{used.allowed:.3g}")))

    def notes(self, most: int) -> None:
        """That there are notes, when and by whom; what they say only if it was asked for."""
        sheet, notes = self._sheet, self._visit.notes
        sheet.heading(f"{SAYS['notes']} ({len(notes)})")
        lines = []
        for note in notes[-most:]:
            kind = SAYS["one note" if note.kind == "note" else note.kind]
            said = self._privacy.note(note.digest)
            line = self._say("note", date=note.at[:10], by=self._privacy.person(note.by), kind=kind)
            lines.append(f"{line}: {' '.join(said.split())}" if said else line)
        if lines:
            sheet.listed(lines, numbered=False)
        else:
            sheet.lines(("", SAYS["no notes"]))

    def months(self) -> None:
        """A row for each month."""
        days = self._visit.days
        heads = [SAYS[name] for name in ("month", "days", "done", "troubles", "by hand")]
        self._sheet.heading(SAYS["months"])
        rows = []
        for month in sorted({day.date[:7] for day in days}):
            of = [day for day in days if day.date[:7] == month]
            sums = (
                len({day.date for day in of}),
                sum(day.rounds_done for day in of),
                sum(day.troubles for day in of),
                sum(day.by_hand for day in of),
            )
            rows.append((month, *(f"{one}" for one in sums)))
        self._sheet.rows(heads, rows)

    def written(self) -> None:
        """Work, measured values and packs, as they were written down in this time."""
        written = self._visit.history.written
        began, ended = self._visit.since.isoformat(), f"{self._visit.since.year + 1}"

        def within(at: str) -> bool:
            return began <= at[:10] < ended

        work = [f"{one.at[:10]}: {work_words(one)}" for one in written.work if within(one.at)]
        measured = [f"{one.at[:10]}: {measured_words(one)}" for one in written.measured if within(one.at)]
        packs = [pack_words(one) for one in written.packs]
        for name, lines in (("work", work), ("measured", measured), ("packs", packs)):
            self._sheet.heading(SAYS[name])
            if lines:
                self._sheet.listed(lines, numbered=False)
            else:
                self._sheet.lines(("", SAYS["none"]))
        mounted = self._visit.wear.packs
        if mounted:
            heads = [SAYS[name] for name in ("pack", "mounted", "turned", "exercised")]
            self._sheet.rows(
                heads,
                [
                    (one.label, f"{one.mounted}", _hours(one.turned_h), _hours(one.exercised_h))
                    for one in mounted
                ],
            )
        for note in (one.note for one in written.work if within(one.at) and one.note):
            if said := self._privacy.note(note):
                self._sheet.lines(("small", said))

    def _say(self, sentence: str, **places: object) -> str:
        say: Callable[..., str] = SAYS[sentence].format
        return say(**places)


def _hours(hours: float) -> str:
    """Hours and minutes, such as 3:05 h."""
    minutes = round(hours * 60)
    return f"{minutes // 60}:{minutes % 60:02d} h"


def _times(times: int) -> str:
    return "once" if times == 1 else f"{times} times"


def _days(days: int) -> str:
    return "1 day" if days == 1 else f"{days} days"


def _by_words(rows: list[TroubleRow]) -> dict[str, list[TroubleRow]]:
    """Troubles by what they say, the one raised last first."""
    found: dict[str, list[TroubleRow]] = {}
    for row in rows:
        found.setdefault(row.words.rstrip(".") or row.trouble, []).append(row)
    return dict(sorted(found.items(), key=lambda one: one[1][-1].at, reverse=True))
