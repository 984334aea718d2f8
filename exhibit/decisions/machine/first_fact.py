"""The first fact of a recording of a machine: all that its folder says, as it was then."""

from __future__ import annotations

from typing import Final, Literal

from exhibit import __version__
from exhibit.decisions.machine.filling import numbers_named
from exhibit.decisions.machine.script import CLOSING, AnyStep, CheckPack, Folder, HandsOn, Pause, TypeCommand
from exhibit.facts.clock import read_wall
from exhibit.facts.docent_words import ForDocent, HandStep, TidyStep
from exhibit.facts.recording_facts import RecordingOpened
from exhibit.facts.use_before import DayBefore, UseBefore
from exhibit.facts.visitor_words import Hours

DAYS_AHEAD: Final = 31
"""For so many days a page whose machine sleeps can say when the doors open again."""


def first_fact(
    folder: Folder,
    *,
    wall: str,
    machine_is: Literal["real", "simulated"],
    typing: Literal["scripts", "nothing"] = "scripts",
    rate: float = 1.0,
    boot: str = "",
    use_before: UseBefore | None = None,
    today: DayBefore | None = None,
    practice: bool = False,
) -> RecordingOpened:
    """What the recording begins with, except its format and the file before it, which its writer adds.

    `wall` is the computer's date and time at the recording's 0 (RFC 3339).
    """
    machine = folder.machine
    return RecordingOpened(
        format=0,
        how_to_read="",
        software=f"exhibit {__version__}",
        machine=machine.name,
        title=machine.title,
        parts=machine.parts,
        drawn=machine.drawn,
        pictures=folder.pictures,
        tested=machine.tested,
        screens=folder.screens,
        marked=[part for part, marks in machine.marks.items() if marks.started or marks.stopped],
        displays=[display.name for display in machine.displays],
        now=machine.now,
        switches=machine.switches,
        cards=list(folder.cards),
        tell_tales=machine.tell_tales,
        ahead=folder.ahead,
        glosses=folder.glosses,
        exercisers=folder.exercisers,
        plots=machine.plots,
        loads=machine.loads,
        chapters=folder.chapters,
        round_words=folder.round_words,
        emergencies=folder.emergencies,
        hours=hours_from(folder, wall),
        languages=machine.languages,
        second_language=folder.second_language,
        machine_is=machine_is,
        typing=typing,
        rate=rate,
        wall=wall,
        line=machine.line.description(),
        eighth_bit=machine.eighth_bit,
        parity=machine.line.parity,
        display=machine.display,
        digests=folder.digests,
        previous_file="",
        previous_crc="",
        for_docent=_for_docent(folder),
        boot=boot,
        use_before=use_before,
        today=today or DayBefore(),
        practice=practice,
    )


def hours_from(folder: Folder, wall: str) -> Hours | None:
    """When the doors open on each day from this date on; None if the folder doesn't say it."""
    if folder.hours is None:
        return None
    return Hours(days=folder.hours.days(read_wall(wall).date(), DAYS_AHEAD))


def _for_docent(folder: Folder) -> ForDocent:
    scripts, closing = folder.scripts.items(), folder.scripts.get(CLOSING)
    return ForDocent(
        mains_stop=folder.machine.site.mains_stop,
        keyholder=folder.machine.site.keyholder,
        two_people=folder.machine.site.two_people,
        by_hand={
            name: [step.name for step in script.steps if isinstance(step, HandsOn | CheckPack)]
            for name, script in scripts
        },
        parts={
            sign: part
            for part, marks in folder.machine.marks.items()
            for sign in (*marks.started, *marks.stopped)
            if "." in sign
        },
        closing=[
            HandStep(name=step.name, words=step.words, caution=step.caution)
            for step in (closing.steps if closing is not None else ())
            if isinstance(step, HandsOn | CheckPack)
        ],
        closing_types=closing is not None and len(closing.last_by_hand) < len(closing.steps),
        last_by_hand=list(closing.last_by_hand) if closing is not None else [],
        tidy_ups={
            name: [
                TidyStep(name=step.name, within_us=_within_us(step), needs=_needs(step))
                for step in script.tidy_up
            ]
            for name, script in scripts
        },
    )


def _needs(step: AnyStep) -> list[str]:
    return [name for name, _ in numbers_named(step.command)] if isinstance(step, TypeCommand) else []


def _within_us(step: AnyStep) -> int:
    return step.pause_us if isinstance(step, Pause) else getattr(step, "within_us", 0)
