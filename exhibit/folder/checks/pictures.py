"""Looks up the names in plots, loads and chapters, and finds words for them that are missing or unused."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Final

from exhibit.decisions.machine.script import HOME
from exhibit.facts.visitor_words import TIME
from exhibit.folder.checks.references import Drafts
from exhibit.folder.reading.languages import LanguageDraft, compare, readable
from exhibit.folder.reading.machine import MachineDraft
from exhibit.folder.reading.step_drafts import ScriptDraft
from exhibit.folder.reading.tables import Table
from exhibit.folder.reading.values import intended_name, places_of
from exhibit.folder.reading.visitors.chapters import CHAPTERS, CONSOLE, TOLD, ChapterDraft
from exhibit.folder.reading.visitors.plots import LOADS, PLOTS, LoadDraft, PlotDraft

_DOES: Final = "does"
_A_PLACE: Final = "LINE.PLACE, such as hours-worked.hours"


def check_pictures(drafts: Drafts) -> None:
    """Add a mistake for each unknown name, and for each missing or unused entry of a language."""
    machine, languages = drafts.machine, drafts.languages
    for script in filter(None, drafts.scripts.values()):
        _check_chapters(script, drafts)
    _check_groups(drafts)
    given = {name: f"{one.table.file}" for one in languages for name in one.words["rounds"] if name == _DOES}
    compare(languages, "rounds", given)
    if machine is None:
        return
    for name, plot in machine.visitors.plots.items():
        _check_plot(plot, machine)
        where = f"machine.toml, line {plot.table.line_of()}"
        compare(languages, f"{PLOTS}.{name}", dict.fromkeys(plot.wanted_words(), where))
    for load in machine.visitors.loads.values():
        _check_load(load, machine)
    loads = machine.visitors.loads
    compare(
        languages, LOADS, {name: f"machine.toml, line {one.table.line_of()}" for name, one in loads.items()}
    )


# -- plots and loads -----------------------------------------------------------------------------


def _check_plot(plot: PlotDraft, machine: MachineDraft) -> None:
    table, lines = plot.table, machine.lines
    known = [*lines, *machine.interruptions]
    table.look_up(("part",), plot.part, machine.parts, "part")
    if table.look_up(("begins",), plot.begins, lines, "line") and plot.begins and plot.job:
        _check_place(table, ("job",), plot.begins, plot.job, machine)
    for name, below in (*plot.ended, *plot.stopped):
        table.look_up(below, name, known, "line or interruption")
    for name, below in plot.stopped:
        if name in {one for one, _ in plot.ended}:
            what = (
                f'"{name}" says that the job is done, so it can\'t also say that it was stopped before that'
            )
            table.wrong(below, what, "nothing; delete it here, or in ended")
    _check_dotted(table, "worked", plot.worked, machine)
    readings = _number_readings(machine)
    if plot.points_up and plot.points_up not in readings:
        _check_dotted(table, "points_up", plot.points_up, machine, readings)
    if plot.points_across != TIME:
        _check_dotted(table, "points_across", plot.points_across, machine)
        if plot.points_up in readings:
            what = f'"{plot.points_up}" is a reading, which has only a time'
            table.wrong("points_across", what, f'points_across = "{TIME}"')
    if plot.points_across == TIME and plot.across_is != "number" and table.is_sure("points_across"):
        table.wrong("across_is", "the minutes since the job began are a number", 'across_is = "number"')
    for name, below in plot.marks:
        if table.look_up(below, name, lines, "line") and name:
            for key, place in (("marks_across", plot.marks_across), ("marks_up", plot.marks_up)):
                if place:
                    _check_place(table, (key,), name, place, machine)


def _check_load(load: LoadDraft, machine: MachineDraft) -> None:
    for key, name in (("part", load.part), ("from", load.from_part)):
        load.table.look_up((key,), name, machine.parts, "part")
    if load.mark and load.mark[-1:] in load.begins[-1:]:
        what = f'the line begins with the mark "{load.mark}" itself, so nobody could count the pieces'
        load.table.wrong("begins", what, "the text that comes before the first mark")


def _check_place(
    table: Table, key: tuple[str], line: str, place: str, machine: MachineDraft, whole: str = "{}"
) -> None:
    """Add a mistake if the line has no such place. `whole`: how the place is written under this key."""
    places = list(places_of(machine.lines[line].pattern.text))
    if place in places:
        return
    near = intended_name(place, places)
    write = whole.format(near) if near else f"one of: {', '.join(map(whole.format, places))}"
    if not places:
        write = f"a line with a place, such as {{{place}: number}}"
    table.wrong(key, f'the line "{line}" has no place "{place}"', f'{key[0]} = "{write}"' if near else write)


def _check_dotted(
    table: Table, key: str, text: str, machine: MachineDraft, others: Collection[str] = ()
) -> None:
    """Add a mistake if this isn't the place of a line, as LINE.PLACE."""
    if not text:
        return
    line, dot, place = text.partition(".")
    if not dot:
        table.wrong(key, f'"{text}" is not the place of a line', f'{key} = "{_A_PLACE}"')
    elif line in machine.lines:
        _check_place(table, (key,), line, place, machine, f"{line}.{{}}")
    elif line in machine.displays:
        table.look_up((key,), text, others, "reading (DISPLAY.READING) of kind number")
    elif near := intended_name(line, machine.lines):
        table.wrong(key, f'no line is named "{line}"', f'{key} = "{near}.{place}"')
    else:
        table.wrong(key, f'no line is named "{line}"', f"one of: {', '.join(machine.lines)}")


def _number_readings(machine: MachineDraft) -> list[str]:
    return [
        f"{display.name}.{reading.name}"
        for display in machine.displays.values()
        for reading in display.readings
        if reading.kind == "number"
    ]


# -- chapters ------------------------------------------------------------------------------------


def _check_chapters(script: ScriptDraft, drafts: Drafts) -> None:
    steps = list(enumerate(script.all_steps))
    # Two steps of one name are a mistake already.
    places = {step.name: place for place, step in reversed(steps) if step.name}
    reached = -1
    for chapter in script.chapters:
        table = chapter.table
        if table.look_up(("from",), chapter.from_step, places, "step of this script") and chapter.from_step:
            at = places[chapter.from_step]
            if at <= reached:
                what = f'"{chapter.from_step}" comes before the step of an earlier chapter, or is that step'
                table.wrong("from", what, "a later step, or this chapter further up")
            reached = max(at, reached)
        if drafts.machine is not None:
            _check_picture(chapter, drafts.machine)


def _check_picture(chapter: ChapterDraft, machine: MachineDraft) -> None:
    if chapter.picture in ("", CONSOLE):
        return
    pictures = [
        CONSOLE,
        *(f"plot:{name}" for name in machine.visitors.plots),
        *(f"part:{name}" for name in machine.parts),
    ]
    chapter.table.look_up(("picture",), chapter.picture, pictures, "picture")


def _check_groups(drafts: Drafts) -> None:
    """Compare the words of chapters, and find words for plots and scripts that there are not."""
    scripts = [one for one in drafts.scripts.values() if one is not None and one.name != HOME]
    told = {one.name: one for one in scripts if one.chapters}
    for script in told.values():
        where = {one.name: f"{script.table.file}, line {one.table.line_of()}" for one in script.chapters}
        _compare_chapters(script.name, {name: at for name, at in where.items() if name}, drafts.languages)
    plots = drafts.machine.visitors.plots if drafts.machine is not None else None
    for group, known in ((PLOTS, plots), (CHAPTERS, told), (TOLD, told)):
        if known is None or (group != PLOTS and None in drafts.scripts.values()):
            continue
        kind = "plot" if group == PLOTS else "script with chapters"
        for language in drafts.languages:
            table = language.table.table(group, optional=True)
            for name in table.names():
                if isinstance(table.data[name], Mapping) and name not in known:
                    near = intended_name(name, known)
                    write = f"[{group}.{near}]" if near else "nothing; delete this table"
                    table.wrong(name, f'no {kind} is named "{name}"', write)


def _compare_chapters(script: str, where: dict[str, str], languages: list[LanguageDraft]) -> None:
    """What is told in the past can be missing, but then in each language."""
    compare(languages, f"{CHAPTERS}.{script}", where, usual=readable)
    told = f"{TOLD}.{script}"
    given = {name: at for name, at in where.items() if any(one.has(told, name) for one in languages)}
    compare(languages, told, given)
