"""Looks up every name that one file of a machine's folder uses and another defines."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from exhibit.decisions.machine.script import HOME
from exhibit.decisions.story.story import place_of
from exhibit.folder.checks.commands import check_command, check_lifted
from exhibit.folder.reading.home import HomeDraft, check_home
from exhibit.folder.reading.languages import LanguageDraft, compare, readable, title_of
from exhibit.folder.reading.machine import MachineDraft
from exhibit.folder.reading.mistakes import one_of
from exhibit.folder.reading.never import LIFTING_SCRIPT
from exhibit.folder.reading.panel.who_may import Role
from exhibit.folder.reading.scripts import BY_HAND, TOO_EARLY_SHOWS
from exhibit.folder.reading.step_drafts import ScriptDraft, StepDraft
from exhibit.folder.reading.story import AheadDraft, CaptionDraft
from exhibit.folder.reading.tables import LocatedTexts, Table
from exhibit.folder.reading.troubles import CAUTION, CAUTIONS, caution_named, over_when_in
from exhibit.folder.reading.values import BY_A_PERSON, NO_BREAK, intended_name, is_break, places_of


@dataclass
class Drafts:
    """All files of a folder as read. None replaces a file that is missing or isn't TOML."""

    machine: MachineDraft | None = None
    scripts: dict[str, ScriptDraft | None] = field(default_factory=dict)
    home: HomeDraft | None = None
    captions: list[CaptionDraft] | None = None
    ahead: list[AheadDraft] = field(default_factory=list)
    languages: list[LanguageDraft] = field(default_factory=list)
    roles: dict[str, Role] = field(default_factory=dict)
    """Who may do what each caution stands before, by the caution's name."""
    all_readable: bool = True


def check_references(drafts: Drafts) -> None:
    """Add a mistake for each unknown name, and for each caption and text that nothing uses."""
    for name, script in drafts.scripts.items():
        if script is not None and name != HOME:
            if drafts.machine is not None and name == LIFTING_SCRIPT:
                check_lifted(script, drafts.machine)
            _check_steps(script.all_steps, drafts)
    if drafts.machine is not None:
        _check_over_when(drafts.machine)
    if drafts.home is not None:
        for way in drafts.home.ways.values():
            _check_steps(way, drafts)
        if drafts.machine is not None:
            check_home(drafts.home, drafts.machine, [name for name in drafts.scripts if name != HOME])
    for caption in drafts.captions or []:
        _check_caption(caption, drafts)
        _check_caption_words(caption, drafts)
    _check_words(drafts)


# -- scripts -------------------------------------------------------------------------------------


def _check_steps(steps: Iterable[StepDraft], drafts: Drafts) -> None:
    earlier: dict[str, StepDraft] = {}
    for step in steps:
        if drafts.machine is not None:
            _check_names(step, drafts.machine)
        if step.kind == "type":
            check_command(step, earlier, drafts.machine)
        if step.kind == "caption":
            _check_given(step, drafts)
        if step.name:
            earlier.setdefault(step.name, step)


def _check_names(step: StepDraft, machine: MachineDraft) -> None:
    waitable = machine.waitable()
    for key, known, kind in (
        (step.at_key, [*machine.prompts, *machine.displays], "prompt or display"),
        ("until" if "until" in step.table else "", waitable, "prompt, line or display"),
        ("wait", waitable, "prompt, line or display"),
    ):
        for name, below in step.lists.get(key, []):
            step.table.look_up(below, name, known, kind)
    for key, names, kind in (
        ("press", machine.keys, "key"),
        ("pack", machine.packs, "pack"),
        ("pack_out", machine.packs, "pack"),
        ("read", machine.displays, "display"),
        ("read_if_shown", machine.displays, "display"),
    ):
        text = step.texts.get(key, "")
        if key == "press" and is_break(text):
            step.table.wrong(key, NO_BREAK, BY_A_PERSON)
        else:
            step.table.look_up((key,), text, names, kind)
    for name, below in step.lists.get(TOO_EARLY_SHOWS, []):
        step.table.look_up(below, name, machine.troubles, "trouble")
        if name in machine.troubles and machine.troubles[name].ends_script:
            what = f'the trouble "{name}" ends the script, so nothing could be asked for again'
            step.table.wrong(below, what, f"ends_script = false in [troubles.{name}] of machine.toml")
    for name, below in step.lists.get(step.at_key, []):
        prompt = machine.prompts.get(name)
        secret = prompt is not None and prompt.kind == "secret"
        if step.kind == "secret" and not secret and (prompt is not None or name in machine.displays):
            step.table.wrong(
                below,
                f'"{name}" does not ask for a secret, so the secret would be shown',
                f'{step.at_key} = a prompt whose kind is "secret"',
            )
        if step.kind == "type" and secret:
            step.table.wrong(
                below, f'"{name}" asks for a secret', "secret = the name of a secret, in place of type"
            )


def _check_over_when(machine: MachineDraft) -> None:
    known = [*machine.waitable(), *machine.interruptions]
    for table in machine.trouble_tables.values():
        for name, below in over_when_in(table):
            table.look_up(below, name, known, "prompt, line, display or interruption")


def _check_given(step: StepDraft, drafts: Drafts) -> None:
    name = step.texts.get("caption", "")
    if drafts.captions is None or not name:
        return
    by_name = {caption.name: caption for caption in drafts.captions}
    if step.table.look_up(("caption",), name, by_name, "caption") and by_name[name].trigger not in (
        "given",
        "",
    ):
        step.table.wrong(
            "caption",
            f'the caption "{name}" already appears by "{by_name[name].trigger}"',
            f'another caption, or given = "by a step" in the caption "{name}"',
        )


# -- story ---------------------------------------------------------------------------------------


def _check_caption(caption: CaptionDraft, drafts: Drafts) -> None:
    table, machine = caption.table, drafts.machine
    if machine is not None:
        table.look_up(("part",), caption.part, machine.parts, "part")
    if caption.trigger == "when" and machine is not None:
        table.look_up(("when",), caption.value, machine.waitable(), "prompt, line or display")
    if caption.trigger in ("step_started", "step_done"):
        find_step(table, caption.trigger, caption.value, drafts)
    if caption.trigger == "reading" and machine is not None:
        _check_reading(caption, machine)
    if machine is not None:
        look_up_moments(table, caption.ends, machine, drafts)
    for name, below in caption.ends:
        if name == caption.value:
            what = f'"{name}" makes this caption appear, so it can\'t also end it'
            table.wrong(below, what, "what shows that it is true no longer")
    if caption.confirmed_by:
        step = find_step(table, "confirmed_by", caption.confirmed_by, drafts)
        if step is not None and step.kind not in BY_HAND:
            table.wrong(
                "confirmed_by",
                f'"{caption.confirmed_by}" is not a step that a person confirms',
                "confirmed_by = a hands-on step (hands_on, pack or pack_out)",
            )
    if caption.trigger == "given" and caption.name and drafts.all_readable:
        scripts = filter(None, drafts.scripts.values())
        given = (step.texts.get("caption") for script in scripts for step in script.all_steps)
        if caption.name not in given:
            table.wrong(
                "given",
                f'no step shows the caption "{caption.name}"',
                f'caption = "{caption.name}" in a step',
            )


def _check_reading(caption: CaptionDraft, machine: MachineDraft) -> None:
    readings = {
        f"{display.name}.{reading.name}": reading
        for display in machine.displays.values()
        for reading in display.readings
    }
    table = caption.table
    if (
        not table.look_up(("reading",), caption.value, readings, "reading (DISPLAY.READING)")
        or not caption.value
    ):
        return
    kind = readings[caption.value].kind
    if kind == "table":
        table.wrong(
            "reading",
            f'"{caption.value}" is a table, and a caption can follow only a single value',
            "reading = a reading of kind number or text",
        )
    elif kind == "text" and caption.change not in ("changes", "first change today", "stays unchanged"):
        table.wrong(
            "change",
            f'"{caption.value}" is a text, which can\'t rise, fall or be compared with a number',
            'change = "changes", "first change today" or "stays unchanged"',
        )


def look_up_moments(table: Table, names: LocatedTexts, machine: MachineDraft, drafts: Drafts) -> None:
    """Add a mistake for each name that is neither something the machine shows nor a step (SCRIPT.STEP)."""
    known = [*machine.waitable(), *machine.interruptions]
    for name, below in names:
        if "." in name:
            find_step(table, below, name, drafts)
        else:
            table.look_up(below, name, known, "prompt, line, display or interruption")


def find_step(table: Table, key: str | tuple[str | int, ...], value: str, drafts: Drafts) -> StepDraft | None:
    """Return the step SCRIPT.STEP; adds a mistake if there is none. None also if its script can't be read."""
    if not value:
        return None
    name = key if isinstance(key, str) else key[0]
    script_name, dot, step_name = value.partition(".")
    if not dot:
        write = f'{name} = "SCRIPT.STEP", such as "opening.turn-the-key"'
        table.wrong(key, f'"{value}" is not the name of a step', write)
        return None
    if script_name not in drafts.scripts:
        near = intended_name(script_name, drafts.scripts)
        write = f'{name} = "{near}.{step_name}"' if near else one_of(drafts.scripts, "script")
        table.wrong(key, f'no script is named "{script_name}"', write)
        return None
    script = drafts.scripts[script_name]
    if script is None:
        return None
    steps = {step.name: step for step in script.all_steps}
    if step_name in steps:
        return steps[step_name]
    near = intended_name(step_name, steps)
    write = f'{name} = "{script_name}.{near}"' if near else f"one of: {', '.join(steps)}"
    table.wrong(key, f'the script {script_name} has no step "{step_name}"', write)
    return None


# -- words ---------------------------------------------------------------------------------------


def _check_caption_words(caption: CaptionDraft, drafts: Drafts) -> None:
    fields = _fields(caption, drafts)
    for language in drafts.languages:
        words = language.words["captions"].get(caption.name, "")
        places = [place_of(place)[0] for place in words.replace("}", "{").split("{")[1::2]]
        table, key = language.where("captions", caption.name)
        if words.count("{") != words.count("}"):
            table.wrong(key, "a brace has no partner", "a place such as {job}, or no brace")
        elif fields is not None:
            for place in places:
                if place not in fields:
                    write = (
                        f"one of: {', '.join(f'{{{name}}}' for name in fields)}"
                        if fields
                        else "words without braces"
                    )
                    what = f"what triggers this caption has no field {{{place}}}"
                    table.wrong(key, what, write)


def _fields(caption: CaptionDraft, drafts: Drafts) -> list[str] | None:
    """Return the fields that a caption's words can contain; None if that is unknown."""
    if caption.trigger == "reading":
        return ["value"]
    if caption.trigger in ("given", "step_started"):
        return []
    if drafts.machine is None or not caption.value:
        return None
    waitable = drafts.machine.waitable()
    if caption.trigger == "when":
        return list(places_of(waitable[caption.value].text)) if caption.value in waitable else None
    script_name, _, step_name = caption.value.partition(".")
    script = drafts.scripts.get(script_name)
    step = next((step for step in script.all_steps if step.name == step_name), None) if script else None
    if step is None or any(name not in waitable for name, _ in step.until):
        return None
    each = [list(places_of(waitable[name].text)) for name, _ in step.until]
    return [name for name in each[0] if all(name in other for other in each)] if each else []


def _check_words(drafts: Drafts) -> None:
    """Add a mistake for each missing and each unused entry of a language."""
    languages, whole = drafts.languages, drafts.all_readable
    if drafts.machine is not None:
        machine = drafts.machine.table
        parts = {
            name: f"machine.toml, line {machine.line_of('parts', name)}" for name in drafts.machine.parts
        }
        compare(languages, "parts", parts, usual=readable)
        troubles = {
            name: f"machine.toml, line {machine.line_of('troubles', name)}"
            for name in drafts.machine.troubles
        }
        compare(languages, "troubles", troubles)
    compare(languages, "scripts", {name: f"{name}.toml" for name in drafts.scripts}, usual=title_of)
    for section, keys in (
        ("hands_on", ("hands_on", "words", "too_early", "didnt")),
        ("cautions", ("caution",)),
    ):
        wanted = _words_wanted(section, keys, drafts)
        compare(languages, section, wanted, all_are_known=whole)
    if drafts.captions is not None:
        where = {
            caption.name: f"story.toml, line {caption.table.line_of('name')}"
            for caption in drafts.captions
            if caption.name
        }
        compare(languages, "captions", where)
        background = {c.name for c in drafts.captions if c.kind == "background"}
        compare(languages, "sources", {name: at for name, at in where.items() if name in background})


def _words_wanted(section: str, keys: tuple[str, ...], drafts: Drafts) -> Mapping[str, str]:
    """Return the entries that are used, and where; adds a mistake at each that no language has."""
    wanted: dict[str, str] = {}
    has = {name for language in drafts.languages for name in language.words[section]}
    uses = [
        (step.table, key, step.texts.get(key, ""))
        for script in filter(None, drafts.scripts.values())
        for step in script.all_steps
        for key in keys
    ]
    if section == CAUTIONS and drafts.machine is not None:
        busy = [table for _, table in drafts.machine.exercisers.values()]
        tables = [*drafts.machine.trouble_tables.values(), *busy]
        uses += [(table, CAUTION, caution_named(table)) for table in tables]
    for table, key, name in uses:
        if not name:
            continue
        if name in has or not drafts.languages:
            wanted.setdefault(name, f"{table.file}, line {table.line_of(key)}")
            continue
        near = intended_name(name, has)
        files = " and ".join(language.table.file for language in drafts.languages)
        write = f'{key} = "{near}"' if near else f'{name} = "..." under [{section}] in {files}'
        table.wrong(key, f'no language has words for "{name}" in [{section}]', write)
    return wanted
