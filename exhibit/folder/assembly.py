"""Builds the description of a machine's folder from its drafts, once its files are free of mistakes."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import msgspec

from exhibit.decisions.machine.description import Machine, Site
from exhibit.decisions.machine.script import (
    HOME,
    AnyStep,
    Caption,
    CheckPack,
    Folder,
    GiveCaption,
    HandsOn,
    Pause,
    PressKey,
    ReadDisplay,
    Script,
    Trigger,
    TypeCommand,
    TypeSecret,
    Wait,
    WayHome,
)
from exhibit.decisions.panel.sequence import filled
from exhibit.facts.kinds import Words
from exhibit.facts.parts_and_cards import Card
from exhibit.facts.visitor_words import Ahead, ExerciserWords, TellTale
from exhibit.folder.checks.references import Drafts
from exhibit.folder.reading.home import HomeDraft
from exhibit.folder.reading.languages import LanguageDraft, in_each
from exhibit.folder.reading.machine import MachineDraft
from exhibit.folder.reading.panel.emergencies import emergencies_in
from exhibit.folder.reading.panel.switches import Front
from exhibit.folder.reading.panel.who_may import with_who_may
from exhibit.folder.reading.scripts import TOO_EARLY_SHOWS, late_of
from exhibit.folder.reading.step_drafts import ScriptDraft, StepDraft
from exhibit.folder.reading.story import CaptionDraft, DayDraft
from exhibit.folder.reading.tables import Table
from exhibit.folder.reading.tell_tales import TellTaleDraft
from exhibit.folder.reading.troubles import CAUTIONS, caution_named
from exhibit.folder.reading.visitors.built import chapters_in, loads_in, plots_in

_REQUIRED_TEXTS: Final = {
    "hands_on": ("hands_on",),
    "pack": ("pack", "words"),
    "type": ("type",),
    "secret": ("secret",),
    "press": ("press",),
    "read": ("read",),
    "read_if_shown": ("read_if_shown",),
    "caption": ("caption",),
}
"""For each kind of step, the texts without which it can't be built."""
_ANSWERS: Final = ("too_early", "didnt")
"""The texts that a step by hand can have besides."""


def assemble(
    drafts: Drafts,
    day: DayDraft,
    acts: dict[str, dict[str, tuple[str, ...]]],
    digests: dict[str, str],
    cards: tuple[Card, ...] = (),
) -> Folder:
    """Return the folder that the drafts describe; `acts` are the simulated docent's, by script and step."""
    assert drafts.machine is not None
    languages = with_who_may(drafts.languages, drafts.roles)
    return Folder(
        machine=_machine(drafts.machine, languages),
        scripts={
            script.name: _script(script, languages)
            for script in drafts.scripts.values()
            if script is not None and script.name != HOME
        },
        way_home=_way_home(drafts.home, languages) if drafts.home is not None else None,
        captions=tuple(_caption(caption, languages) for caption in drafts.captions or []),
        limits=day.limits.limits,
        rest_us=day.rest_us,
        goes_on_after_loss=day.goes_on_after_loss,
        second_language=day.second,
        digests=digests,
        cards=cards,
        ahead={
            one.name: Ahead(
                part=one.part,
                begins=one.begins,
                step=one.step,
                usually_us=one.usually_us,
                words=in_each(languages, "ahead", one.name),
                display=_display_read_by(one.step, drafts),
            )
            for one in drafts.ahead
        },
        glosses={name: in_each(languages, "glosses", name) for name in languages[0].words["glosses"]},
        exercisers={
            name: ExerciserWords(
                part=one.part,
                stop_by_hand=in_each(languages, "stop_by_hand", name),
                caution=_caution_of(table, languages),
                begun=one.begun,
                called=one.called,
            )
            for name, (one, table) in drafts.machine.exercisers.items()
        },
        chapters={
            script.name: chapters_in(script.name, script.chapters, languages)
            for script in drafts.scripts.values()
            if script is not None and script.chapters
        },
        round_words=in_each(languages, "rounds", "does") if languages[0].words["rounds"] else {},
        emergencies=emergencies_in({language.tag: language.emergencies for language in languages}),
        hours=day.hours,
        zone=day.zone,
        presence_us=day.presence_us,
        keep_days=day.keep_days,
        simulated_docent=acts,
    )


def _display_read_by(named: str, drafts: Drafts) -> str:
    """Return the display that the step SCRIPT.STEP reads; "" if it reads none."""
    script_name, _, step_name = named.partition(".")
    script = drafts.scripts.get(script_name)
    for step in script.all_steps if script is not None else ():
        if step.name == step_name and step.kind in ("read", "read_if_shown"):
            return step.texts[step.kind]
    return ""


def assemble_readable(drafts: Drafts) -> tuple[list[Script], list[Caption]]:
    """Return the scripts and captions of files with mistakes, without what is too incomplete to be built."""
    languages = drafts.languages
    scripts = []
    for script in filter(None, drafts.scripts.values()):
        steps, tidy_up = (
            [
                step
                for step in part
                if step.kind and all(key in step.texts for key in _REQUIRED_TEXTS.get(step.kind, ()))
            ]
            for part in (script.steps, script.tidy_up)
        )
        scripts.append(_script(replace(script, steps=steps, tidy_up=tidy_up), languages))
    return scripts, [_caption(caption, languages) for caption in drafts.captions or [] if caption.trigger]


def _caution_of(table: Table, languages: list[LanguageDraft]) -> Words:
    name = caution_named(table)
    return in_each(languages, CAUTIONS, name) if name else {}


def _machine(draft: MachineDraft, languages: list[LanguageDraft]) -> Machine:
    assert draft.typing is not None
    troubles = tuple(
        msgspec.structs.replace(
            trouble,
            words={language.tag: language.troubles[name][0] for language in languages},
            do={language.tag: _with_start(language.troubles[name][1], draft.front) for language in languages},
            caution=_caution_of(draft.trouble_tables[name], languages),
        )
        for name, trouble in draft.troubles.items()
    )
    site = {key: {language.tag: language.site[key] for language in languages} for key in languages[0].site}
    return Machine(
        name=draft.name,
        title={language.tag: language.title for language in languages},
        line=draft.line,
        eighth_bit=draft.eighth_bit,
        display=draft.display,
        typing=draft.typing,
        keys=draft.keys,
        prompts=tuple(draft.prompts.values()),
        lines=tuple(draft.lines.values()),
        interruptions=tuple(draft.interruptions.values()),
        displays=tuple(draft.displays.values()),
        troubles=troubles,
        calendars=draft.calendars,
        packs=draft.packs,
        parts={name: in_each(languages, "parts", name) for name in draft.parts},
        drawn=draft.parts,
        tested={one.name: [name for name, _ in one.tested] for one in draft.part_drafts if one.tested},
        now=draft.now,
        tell_tales={name: _tell_tale(name, one, languages) for name, one in draft.tell_tales.items()},
        plots=plots_in(draft.visitors.plots, languages),
        loads=loads_in(draft.visitors.loads, languages),
        switches=draft.front.switches,
        exercisers=tuple(exerciser for exerciser, _ in draft.exercisers.values()),
        marks={marks.part: marks.marks() for marks in draft.marks},
        error_signs=draft.error_signs,
        never=tuple(draft.never),
        never_lifted=draft.never_lifted,
        site=Site(**site),
        plug={language.tag: language.plug for language in languages if language.plug},
        languages={language.tag: language.name for language in languages},
        landmarks=draft.landmarks,
        silences=tuple(draft.silences),
        typing_at=draft.typing_at,
    )


def _with_start(words: str, front: Front) -> str:
    """The words with {start} replaced by how the switches are set to start the machine."""
    return words.replace("{start}", front.switches.start) if front.switches.count else words


def _way_home(draft: HomeDraft, languages: list[LanguageDraft]) -> WayHome:
    script = draft.as_script()
    return WayHome(
        title=in_each(languages, "scripts", HOME),
        listen_us=draft.listen_us,
        answer_us=draft.answer_us,
        within_us=draft.within_us,
        home=tuple(name for name, _ in draft.home),
        begins={script: tuple(name for name, _ in listed) for script, listed in draft.begins.items()},
        ways={
            landmark: tuple(_step(step, script, languages) for step in steps)
            for landmark, steps in draft.ways.items()
        },
    )


def _tell_tale(name: str, draft: TellTaleDraft, languages: list[LanguageDraft]) -> TellTale:
    return TellTale(
        kind=draft.kind,
        state=draft.state,
        part=draft.part,
        lamps=draft.lamps,
        begins=[text for text, _ in draft.begins],
        ends=[text for text, _ in draft.ends],
        at_most_us=draft.at_most_us,
        confirmed_by=[text for text, _ in draft.confirmed_by],
        words=in_each(languages, "tell_tales", name),
        see_or_feel=in_each(languages, "see_or_feel", name) if draft.kind == "sound" else {},
    )


def _script(draft: ScriptDraft, languages: list[LanguageDraft]) -> Script:
    return Script(
        name=draft.name,
        title=in_each(languages, "scripts", draft.name),
        within_us=draft.within_us,
        steps=tuple(_step(step, draft, languages) for step in draft.steps),
        tidy_up=tuple(_step(step, draft, languages) for step in draft.tidy_up),
    )


def _step(draft: StepDraft, script: ScriptDraft, languages: list[LanguageDraft]) -> AnyStep:
    step = _step_itself(draft, languages)
    return msgspec.structs.replace(step, late=late_of(draft, script))


def _step_itself(draft: StepDraft, languages: list[LanguageDraft]) -> AnyStep:
    name, within_us, texts = draft.name, draft.within_us, draft.texts
    at = tuple(text for text, _ in draft.lists.get(draft.at_key, []))
    only = draft.only_if_there
    until = tuple(text for text, _ in draft.until)
    caution = in_each(languages, "cautions", texts.get("caution", ""))
    match draft.kind:
        case "hands_on":
            words = in_each(languages, "hands_on", texts["hands_on"])
            words = {tag: filled(text, draft.acts, tag) for tag, text in words.items()}
            acts = tuple(draft.acts)
            hands_on = HandsOn(name=name, words=words, caution=caution, within_us=within_us, panel=acts)
            return _with_answers(hands_on, draft, languages)
        case "pack" | "pack_out":
            words = in_each(languages, "hands_on", texts["words"])
            pack, out = texts[draft.kind], draft.kind == "pack_out"
            check = CheckPack(
                name=name, pack=pack, out=out, words=words, caution=caution, within_us=within_us
            )
            return _with_answers(check, draft, languages)
        case "type":
            command = texts["type"]
            return TypeCommand(
                name=name,
                at=at,
                only_if_there=only,
                command=command,
                until=until,
                within_us=within_us,
                lifts=draft.lifts,
            )
        case "secret":
            secret = texts["secret"]
            return TypeSecret(
                name=name, at=at, only_if_there=only, secret=secret, until=until, within_us=within_us
            )
        case "press":
            key = texts["press"]
            return PressKey(name=name, at=at, only_if_there=only, key=key, until=until, within_us=within_us)
        case "wait":
            return Wait(name=name, until=until, within_us=within_us)
        case "pause":
            return Pause(name=name, pause_us=draft.pause_us)
        case "read" | "read_if_shown":
            display = texts[draft.kind]
            return ReadDisplay(name=name, display=display, only_if_there=only, within_us=within_us)
        case "caption":
            return GiveCaption(name=name, caption=texts["caption"])
    raise AssertionError(draft.kind)


def _with_answers(step: AnyStep, draft: StepDraft, languages: list[LanguageDraft]) -> AnyStep:
    """Return the step by hand with what follows if it was done too early or in vain."""
    return msgspec.structs.replace(
        step,
        **{key: in_each(languages, "hands_on", draft.texts[key]) for key in _ANSWERS if key in draft.texts},
        too_early_shows=tuple(name for name, _ in draft.lists.get(TOO_EARLY_SHOWS, [])),
    )


def _caption(draft: CaptionDraft, languages: list[LanguageDraft]) -> Caption:
    trigger = Trigger()
    match draft.trigger:
        case "when":
            trigger = Trigger(when=draft.value)
        case "step_started":
            trigger = Trigger(step_started=draft.value)
        case "step_done":
            trigger = Trigger(step_done=draft.value)
        case "reading":
            trigger = Trigger(
                reading=draft.value, change=draft.change, number=draft.number, for_us=draft.for_us
            )
    return Caption(
        name=draft.name,
        kind=draft.kind,
        trigger=trigger,
        part=draft.part,
        words=in_each(languages, "captions", draft.name),
        source=in_each(languages, "sources", draft.name) if draft.kind == "background" else {},
        confirmed_by=draft.confirmed_by,
        ends=tuple(text for text, _ in draft.ends),
    )
