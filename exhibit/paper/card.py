"""The printed card: what people do by hand, for the day this computer is dead.

It says in the same words what the program asks for, with the same drawings, and each caution first.
Emergencies come before everything else.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

from exhibit import __version__
from exhibit.decisions.machine.description import Machine
from exhibit.decisions.machine.filling import DATE, PLACE
from exhibit.decisions.machine.script import (
    AnyStep,
    CheckPack,
    Folder,
    HandsOn,
    Pause,
    PressKey,
    Script,
    TypeCommand,
    TypeSecret,
    Wait,
)
from exhibit.decisions.panel.sequence import shown
from exhibit.facts.errors import SetUpFault
from exhibit.facts.fact import Words
from exhibit.facts.units import S_US
from exhibit.folder.whole import read_folder
from exhibit.paper.card_words import card_words
from exhibit.paper.sheet import TYPED, Sheet

_FIRST: Final = ("opening", "closing")
_SITE: Final = ("rules", "two_people", "risk_assessment", "fire_watch")
_FIELD: Final = re.compile(r"\{(?:[^{}:]*|\.\.\.)(?::[^{}]*)?\}")
"""The places of a pattern, of which the card shows only that something stands there."""


def card(path: Path, language: str | None = None) -> str:
    """The card of the folder as an HTML file. `language`: a tag; None means the folder's first.

    Raises SetUpFault if the folder hasn't that language, and what `read_folder` raises.
    """
    folder = read_folder(path)
    tags = folder.machine.languages
    tag = language or next(iter(tags))
    if tag not in tags:
        raise SetUpFault(
            f"{path} has no words in the language {tag!r}.",
            f"Its languages are: {', '.join(f'{known} ({name})' for known, name in tags.items())}.",
            "Choose one of those with --language.",
        )
    return _Card(folder, tag, path.resolve().name).html()


class _Card:
    def __init__(self, folder: Folder, tag: str, name: str) -> None:
        self._folder, self._tag, self._name = folder, tag, name
        self._says = card_words(tag)
        machine, says = folder.machine, self._says
        head = [(says[key], self._in(getattr(machine.site, key))) for key in ("mains_stop", "keyholder")]
        self._sheet = Sheet(says["title"].format(machine=self._in(machine.title)), tag, head)

    def html(self) -> str:
        """Builds the card."""
        self._emergencies()
        scripts = self._folder.scripts
        for name in dict.fromkeys((*_FIRST, *scripts)):
            if name in scripts and (name in _FIRST or _count(scripts[name])):
                self._script(scripts[name])
        self._stopping()
        self._away()
        made = self._says["printed from"].format(folder=self._name, software=f"exhibit {__version__}")
        self._sheet.lines(("small", made))
        return self._sheet.html()

    def _in(self, words: Words) -> str:
        return words.get(self._tag) or next(iter(words.values()), "")

    def _emergencies(self) -> None:
        sheet, says, site = self._sheet, self._says, self._folder.machine.site
        sheet.heading(says["emergencies"])
        sheet.lines(("", says["site first"]))
        for emergency in self._folder.emergencies.values():
            block = sheet.block(("number", self._in(emergency.title)))
            sheet.listed(emergency.do.get(self._tag, []), block)
        sheet.heading(says["site"])
        for key in _SITE:
            if words := self._in(getattr(site, key)):
                sheet.lines(("", f"{says[key]}: {words}"))

    def _script(self, script: Script) -> None:
        sheet, says, count = self._sheet, self._says, _count(script)
        sheet.on_a_new_sheet(self._in(script.title))
        if any(isinstance(step, TypeCommand | TypeSecret) for step in script.steps):
            sheet.lines(("", says["by whom"]))
        number = 0
        for step in script.steps:
            if isinstance(step, HandsOn | CheckPack):
                number += 1
                heading = says["step"].format(number=number, count=count)
                block = sheet.block(
                    ("caution", self._in(step.caution)), ("number", heading), ("", self._in(step.words))
                )
                for act in shown(step.panel, [self._tag]) if isinstance(step, HandsOn) else []:
                    words, where, svg = (act[key][self._tag] for key in ("words", "where", "svg"))
                    # The picture of the lamps says itself that they must show it.
                    said = where if act["act"] == "lamps" and svg else f"{words} {where}".strip()
                    sheet.listed([said], block, numbered=False)
                    if svg:
                        sheet.picture(svg, block)
            else:
                for line in self._at_console(step):
                    sheet.sentence(line)

    def _at_console(self, step: AnyStep) -> Iterator[str]:
        """What a person types or waits for in place of the program."""
        says, machine = self._says, self._folder.machine
        match step:
            case TypeCommand():
                sentence = says["if at" if step.only_if_there else "at"]
                typed = _typed(step.command, machine, says)
                yield sentence.format(at=self._names(step.at), command=f"{TYPED}{typed}{TYPED}") + self._then(
                    step.until
                )
            case TypeSecret():
                at = self._names(step.at)
                yield says["secret"].format(at=at, secret=step.secret) + self._then(step.until)
            case PressKey():
                yield says["key"].format(key=step.key) + self._then(step.until)
            case Wait():
                yield says["wait"].format(until=self._names(step.until))
            case Pause() if step.pause_us >= 10 * S_US:
                yield says["pause"].format(seconds=f"{step.pause_us / S_US:g}")

    def _then(self, until: Sequence[str]) -> str:
        return f" {self._says['then'].format(until=self._names(until))}" if until else ""

    def _names(self, names: Sequence[str]) -> str:
        machine = self._folder.machine
        texts = {prompt.name: prompt.pattern.text for prompt in machine.prompts}
        texts |= {line.name: line.pattern.text for line in machine.lines}
        texts |= {one.name: one.title.text for one in machine.displays}
        shown = (_FIELD.sub("...", texts.get(name, name)) for name in names)
        return self._says["or"].join(f"{TYPED}{text}{TYPED}" for text in shown)

    def _stopping(self) -> None:
        sheet, says = self._sheet, self._says
        by_hand = [one for one in self._folder.exercisers.values() if self._in(one.stop_by_hand)]
        if not by_hand:
            return
        sheet.on_a_new_sheet(says["stopping"])
        sheet.lines(("", says["stopping first"]))
        for one in by_hand:
            part = self._in(self._folder.machine.parts.get(one.part, {}))
            title = f"{one.called}: {part}" if one.called else part
            words = self._in(one.stop_by_hand)
            sheet.block(("caution", self._in(one.caution)), ("number", title), ("", words))

    def _away(self) -> None:
        sheet, says, machine = self._sheet, self._says, self._folder.machine
        sheet.heading(says["away"])
        block = sheet.block(("caution", says["away caution"]), ("caution", says["away when"]))
        plug = self._in(machine.plug)
        line = machine.line
        settings = says["settings"].format(
            baud=line.baud,
            bits=line.data_bits,
            parity=says[f"parity {line.parity}"],
            stops=says[f"stops {line.stop_bits}"],
            flow=says.get(f"flow {line.flow}", line.flow),
        )
        put_in = says["away plug"].format(plug=plug) if plug else says["away plain"]
        set_to = says["away set"].format(settings=settings)
        sheet.listed([says["away end"], says["away pull"], put_in, set_to, says["away look"]], block)


def _count(script: Script) -> int:
    return sum(isinstance(step, HandsOn | CheckPack) for step in script.steps)


def _typed(command: str, machine: Machine, says: dict[str, str]) -> str:
    """The command as a person types it, with what goes into its places."""

    def place(found: re.Match[str]) -> str:
        date = DATE.fullmatch(found[1].strip())
        if date is None:
            return says["number"]
        calendar = machine.calendars[date[1]]
        written = calendar.template.replace("{", "[").replace("}", "]")
        years = says["years"].format(earliest=calendar.earliest, latest=calendar.latest)
        return f"{written} {years}" if "year" in written else written

    return PLACE.sub(place, command)
