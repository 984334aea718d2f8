"""Gives the words that stand beside what they are for to the language of the folder, if it has only one."""

from __future__ import annotations

from exhibit.folder.checks.patterns import FLOW_KEYS
from exhibit.folder.checks.references import Drafts
from exhibit.folder.reading.languages import FOLDER, Beside
from exhibit.folder.reading.scripts import WORDS
from exhibit.folder.reading.step_drafts import StepDraft
from exhibit.folder.reading.story import CaptionDraft
from exhibit.folder.reading.values import ValueMistake, key_pressed


def place_words(drafts: Drafts, beside: list[Beside]) -> None:
    """Add the words to the language. Adds a mistake for each if the folder has several languages."""
    machine = drafts.machine
    found = [*beside, *(machine.beside if machine is not None else []), *_in_steps(drafts)]
    if len(drafts.languages) == 1:
        for one in found:
            drafts.languages[0].accept(one)
    elif drafts.languages:
        names = " and ".join(f"{FOLDER}/{language.tag}.toml" for language in drafts.languages)
        for one in found:
            what = "words can stand here only if the folder has one language, so that none lacks them"
            one.table.wrong(one.key, what, f"an entry of [{one.section}] in {names}")


def captions_in_steps(drafts: Drafts, beside: list[Beside]) -> list[CaptionDraft]:
    """Return the captions whose words stand in a step, and put these words into `beside`."""
    shown = {caption.value for caption in drafts.captions or [] if caption.trigger == "when"}
    taken = {caption.name for caption in drafts.captions or []}
    captions = []
    for script in filter(None, drafts.scripts.values()):
        for step in script.all_steps:
            if not step.caption:
                continue
            name = f"{script.name}-{step.name}"
            while name in taken:
                name += "-again"
            taken.add(name)
            beside.append(Beside("captions", name, step.caption, step.table, "caption"))
            if step.source:
                beside.append(Beside("sources", name, step.source, step.table, "source"))
            trigger, value = "step_done", f"{script.name}.{step.name}"
            if (line := _only_line(step, drafts)) and line not in shown:
                trigger, value = "when", line
            if step.kind == "caption":
                trigger, value, step.texts["caption"] = "given", "", name
            captions.append(
                CaptionDraft(
                    step.table,
                    name=name,
                    kind="background" if step.source else "seen",
                    part=step.part,
                    trigger=trigger,
                    value=value,
                )
            )
    return captions


def _only_line(step: StepDraft, drafts: Drafts) -> str:
    """Return the line that this step and no other waits for, if it waits for nothing else; else "".

    The words of the step then appear with that line, so that visitors read them also when a person types.
    """
    names = [name for name, _ in step.until]
    scripts = [script for script in drafts.scripts.values() if script is not None]
    waits = [name for script in scripts for other in script.all_steps for name, _ in other.until]
    is_line = drafts.machine is not None and len(names) == 1 and names[0] in drafts.machine.lines
    return names[0] if is_line and waits.count(names[0]) == 1 else ""


def name_keys(drafts: Drafts) -> None:
    """Add to [keys] each key that a step presses by its own name, such as "return"."""
    machine = drafts.machine
    if machine is None:
        return
    for script in filter(None, drafts.scripts.values()):
        for step in script.all_steps:
            text = step.texts.get("press", "")
            try:
                sent = key_pressed(text) if text and text not in machine.keys else b""
            except ValueMistake:
                continue  # `references` looks it up
            if sent in FLOW_KEYS and machine.line.flow == "xon/xoff":
                what = f"{FLOW_KEYS[sent]} can't be pressed, because the line uses it for flow control"
                step.table.wrong("press", what, 'another key, or flow = "none" in [line]')
            if sent:
                machine.keys[text] = sent


def _in_steps(drafts: Drafts) -> list[Beside]:
    """Return the words that steps have in place of the name of an entry. They are named by themselves."""
    titles = [
        Beside("scripts", script.name, script.title, script.with_limit, "title")
        for script in filter(None, drafts.scripts.values())
        if script.title
    ]
    chapters = [words for script in filter(None, drafts.scripts.values()) for words in script.chapter_words]
    return (
        titles
        + chapters
        + [
            Beside(WORDS[key], text, text, step.table, key)
            for script in filter(None, drafts.scripts.values())
            for step in script.all_steps
            for key, text in step.texts.items()
            if key in WORDS and " " in text.strip()
        ]
    )
