"""The summary of a day for paper: only what its recordings say."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from pathlib import Path

from babel import Locale, UnknownLocaleError
from babel.dates import format_date

from exhibit import __version__
from exhibit.decisions.console.flow import MACHINE
from exhibit.facts.errors import SetUpFault
from exhibit.facts.fact import Words
from exhibit.facts.recording_facts import RecordingOpened
from exhibit.paper.sheet import Sheet
from exhibit.paper.summary_words import summary_words
from exhibit.streams.recording import Damaged, RecordingFolder, read, read_opened
from exhibit.streams.recording_files import no_recording
from exhibit.sums.alarm_load import alarm_load
from exhibit.sums.day_record import DONE, Day, DayRecord, seconds_between


def summary(recordings: Sequence[Path], language: str | None = None) -> str:
    """The days of these recordings as an HTML file. `language`: a tag; None means the recordings' first.

    Raises RecordingFault; and SetUpFault if there is none, if they are of several machines, or if they lack
    that language.
    """
    found = [(path, read_opened(path)) for path in _files(recordings)]
    opened = sorted(found, key=lambda one: (one[1].wall, f"{one[0]}"))
    first = opened[0][1]
    for path, other in opened:
        if other.machine != first.machine or other.machine_is != first.machine_is:
            raise SetUpFault(
                f"{path} is a recording of another machine than {opened[0][0]}.",
                "A summary adds things up, and those of two machines don't belong together.",
                "Name recordings of one machine, either the real or the simulated one.",
            )
    tag = language or next(iter(first.languages), "en")
    if language is not None and tag not in first.languages:
        raise SetUpFault(
            f"{opened[0][0]} has no words in the language {tag!r}.",
            f"Its languages are: {', '.join(first.languages)}.",
            "Choose one of those with --language.",
        )
    record = DayRecord()
    for path, _ in opened:
        record.begin(path.name)
        for entry in read(path):
            if not isinstance(entry, Damaged):
                record.take(entry)
            elif not entry.torn:
                record.lost()
        record.end()
    return _html(first, list(record.days.values()), tag)


def _files(recordings: Sequence[Path]) -> list[Path]:
    found: dict[Path, None] = {}
    for path in recordings:
        files = [file.path for file in RecordingFolder(path).recordings()] if path.is_dir() else [path]
        if not files:
            raise no_recording([path], "The summary says what recordings say, and nothing else.")
        found.update((file.resolve(), None) for file in files)
    return list(found)


def _html(opened: RecordingOpened, days: list[Day], tag: str) -> str:
    says = summary_words(tag)

    def in_tag(words: Words) -> str:
        return words.get(tag) or next(iter(words.values()), "")

    parts = {name: in_tag(words) for name, words in opened.parts.items()}
    title = says["title"].format(machine=in_tag(opened.title))
    kind = says["simulated"] if opened.machine_is == "simulated" else says["real"]
    sheet = Sheet(title, tag, [(says["machine"], kind)])
    for number, day in enumerate(days):
        (sheet.on_a_new_sheet if number else sheet.heading)(says["day"].format(date=_date(day.date, tag)))
        sheet.rows([says["what"], says["how much"]], figures(day, says, parts))
        sheet.heading(says["scripts"], 3)
        sheet.rows(
            [says["from"], says["until"], says["what"], says["outcome"]],
            (
                (
                    ran.began[11:16],
                    ran.ended[11:16],
                    f"{in_tag(ran.title)}{f' {ran.round}' if ran.round else ''}",
                    f"{says[ran.outcome or 'not seen']}{f': {ran.why}' if ran.why else ''}",
                )
                for ran in day.scripts
            ),
        )
        sheet.heading(says["troubles"], 3)
        if not day.troubles:
            sheet.lines(("", says["none"]))
        for trouble in day.troubles:
            what = [says[then.what].format(by=then.by, at=then.at[11:16]) for then in trouble.then]
            sheet.block(
                ("number", f"{trouble.at[11:16]} {in_tag(trouble.words)}"),
                ("typed", trouble.line),
                ("", " ".join(what) or says["nobody"]),
            )
        sheet.heading(says["by hand"], 3)
        sheet.rows(
            [says["at"], says["step"], says["answer"], says["by"]],
            (
                (
                    hand.at[11:16],
                    _first_sentence(in_tag(hand.words)) or hand.step,
                    says["shown" if hand.by == MACHINE else hand.answer],
                    hand.by,
                )
                for hand in day.by_hand
            ),
        )
        sheet.lines(("small", says["from files"].format(files=", ".join(day.files))))
        if day.damaged:
            sheet.lines(("caution", says["damaged"]))
    sheet.lines(("small", f"exhibit {__version__}"))
    return sheet.html()


def figures(day: Day, says: dict[str, str], parts: dict[str, str]) -> list[tuple[str, str]]:
    """The day's figures, each with its name. `says`: the summary's words; `parts`: the parts' names."""
    rounds = [ran for ran in day.scripts if ran.round]
    done = sum(ran.outcome == "done" for ran in rounds)
    return [
        (says["rounds"], says["of"].format(done=done, all=len(rounds))),
        (says["running"], _hours(day.script_s)),
        *((says["part"].format(part=parts.get(one, one)), _hours(s)) for one, s in day.part_s.items()),
        (says["troubles"], f"{len(day.troubles)}"),
        *_calls(day, says),
        (says["by hand"], f"{sum(hand.answer == DONE for hand in day.by_hand)}"),
        (says["notes"], f"{day.notes.get('note', 0)}"),
        (says["photographs"], f"{day.notes.get('photograph', 0)}"),
        (says["kept"], f"{day.notes.get('minutes kept', 0)}"),
    ]


def _calls(day: Day, says: dict[str, str]) -> list[tuple[str, str]]:
    """How often somebody was called, against the published figures; nothing if no time can be told."""
    moments = [ran.began for ran in day.scripts] + [ran.ended for ran in day.scripts if ran.ended]
    moments += [trouble.at for trouble in day.troubles]
    if not day.troubles or min(moments) == max(moments):
        return []
    first = min(moments)
    times_s = [seconds_between(first, trouble.at) for trouble in day.troubles]
    found = alarm_load(times_s, seconds_between(first, max(moments)))
    return [(says["calls"], says["load"].format(most=found.most_in_ten_min, load=says[found.load]))]


def _first_sentence(words: str) -> str:
    """What tells a step from the others in few words."""
    return f"{words.partition('. ')[0].rstrip('.')}." if words else ""


def _date(date: str, tag: str) -> str:
    """The date as people write it in this language; as recorded if nobody knows how that is."""
    try:
        return format_date(datetime.date.fromisoformat(date), "full", locale=Locale.parse(tag, sep="-"))
    except (ValueError, UnknownLocaleError):
        return date or "?"


def _hours(seconds: float) -> str:
    """Hours and minutes, such as 3:05 h."""
    minutes = round(seconds / 60)
    return f"{minutes // 60}:{minutes % 60:02d} h"
