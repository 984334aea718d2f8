"""Checks captions against published limits for reading speed, length and readability.

No run is refused because of these: a caption that is too long does no harm, unlike a wrong name. So they
are checked separately from other mistakes.
"""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Final, NamedTuple

import msgspec

from exhibit.decisions.machine.filling import PLACE
from exhibit.decisions.machine.script import AnyStep, Caption, Folder, GiveCaption, Pause, Script
from exhibit.decisions.session.script_run import until_of
from exhibit.decisions.story.reading_time import CHARACTERS_A_WORD, reading_us, words_in
from exhibit.facts.errors import ScriptError
from exhibit.facts.units import S_US
from exhibit.folder.reading.caption_limits import LIMITS, SECTION
from exhibit.folder.reading.languages import FOLDER
from exhibit.folder.reading.mistakes import Mistake
from exhibit.folder.reading.toml_lines import lines_of as lines_in_file
from exhibit.sums.caption_lines import lines_of
from exhibit.sums.readability import count, reading_grade, sentences_in

_SECTION_OF: Final = {
    ("caption", "words"): "captions",
    ("step", "caption"): "captions",
    ("tidy_up", "caption"): "captions",
    ("ahead", "words"): "ahead",
    ("tell_tales", "words"): "tell_tales",
    ("tell_tales", "see_or_feel"): "see_or_feel",
}
"""Words that can stand beside what they are for: their table and key, and the section they belong to."""
FIGURES: Final = "0" * 6
"""Replaces a place when characters are counted: the assumed length of a number from the machine."""
SPOKEN: Final = "24"
"""Replaces a place when words and syllables are counted."""
_ENGLISH: Final = re.compile(r"en(?:-.*)?")
MINUTE_S: Final = 60


class CaptionMistakes(ScriptError):
    """Captions are harder to read than the limits allow; `mistakes` holds all of them."""

    def __init__(self, folder: str, mistakes: Sequence[Mistake]) -> None:
        self.mistakes = sorted(mistakes)
        first, many = self.mistakes[0], len(self.mistakes)
        where = f"{first.file}, line {first.line}"
        super().__init__(
            f"A text in {folder} is beyond a limit: {where}."
            if many == 1
            else f"Texts in {folder} are beyond {many} limits; the first is in {where}.",
            "Visitors have only a few seconds for a text, and don't read what takes longer.",
            "Shorten the text, or change the limit and give a reason ([limits] in docs/folder.md).",
        )


class Pauses:
    """How long scripts pause for visitors to read each caption."""

    def __init__(self, scripts: Iterable[Script], captions: Sequence[Caption]) -> None:
        self._found: dict[str, tuple[int, str]] = {}
        for script in scripts:
            for caption in captions:
                for pause, name in _pauses_for(caption, script):
                    known = self._found.get(caption.name)
                    if known is None or pause.pause_us < known[0]:
                        self._found[caption.name] = pause.pause_us, name

    def shortest_for(self, caption: str) -> tuple[int, str] | None:
        """Return the caption's shortest pause in microseconds and its SCRIPT.STEP; None if there is none."""
        return self._found.get(caption)


def _pauses_for(caption: Caption, script: Script) -> Iterator[tuple[Pause, str]]:
    """Yield the pauses that begin when the caption appears, with their names."""
    for steps in (script.steps, script.tidy_up):
        for step, after in zip(steps, (*steps[1:], None), strict=False):
            named = f"{script.name}.{step.name}"
            if isinstance(step, Pause) and caption.trigger.step_started == named:
                yield step, named
            elif isinstance(after, Pause) and _shows(step, named, caption):
                yield after, f"{script.name}.{after.name}"


def _shows(step: AnyStep, named: str, caption: Caption) -> bool:
    """Whether the caption appears when the step is over."""
    if isinstance(step, GiveCaption):
        return step.caption == caption.name
    return caption.trigger.step_done == named or until_of(step) == (caption.trigger.when,)


def check_captions(files: Mapping[str, bytes], folder: Folder) -> list[Mistake]:
    """Return a mistake for each text beyond a limit, and for each changed limit that nothing needs.

    The files must be those of the folder, which must have been read without a mistake.
    """
    pauses = Pauses(folder.scripts.values(), folder.captions)
    beside = _beside(files, folder.captions)
    return [
        mistake
        for tag in folder.machine.languages
        for mistake in _Language(tag, files[f"{FOLDER}/{tag}.toml"].decode("utf-8"), pauses, beside).check()
    ]


def check_what_can_be_read(
    files: Mapping[str, bytes], scripts: Iterable[Script], captions: Sequence[Caption]
) -> list[Mistake]:
    """Do the same for files with mistakes, for those languages whose file contains the required texts."""
    pauses = Pauses(scripts, captions)
    found: list[Mistake] = []
    beside = _beside(files, captions)
    for name, content in files.items():
        if name.startswith(f"{FOLDER}/") and (text := _checkable(content)):
            tag = name.removeprefix(f"{FOLDER}/").removesuffix(".toml")
            found += _Language(tag, text, pauses, beside).check()
    return found


class _Beside(NamedTuple):
    """Words that stand beside what they are for, in a folder of one language."""

    section: str
    name: str
    text: str
    file: str
    line: int


def _beside(files: Mapping[str, bytes], captions: Sequence[Caption]) -> list[_Beside]:
    """Return the words that stand in files other than the language's, as far as these can be read."""
    named = {text: caption.name for caption in captions for text in caption.words.values()}
    found: list[_Beside] = []
    for file, content in files.items():
        try:
            text = content.decode("utf-8")
            data, lines = tomllib.loads(text), lines_in_file(text)
        except (UnicodeDecodeError, tomllib.TOMLDecodeError, RecursionError):
            continue
        for path in lines if not file.startswith(f"{FOLDER}/") else ():
            section = _SECTION_OF.get((f"{path[0]}", f"{path[-1]}"))
            value: Any = data
            for part in path if section else ():
                value = value[part]
            if section and isinstance(value, str) and " " in value:
                name = named.get(value, f"{path[1]}")
                found.append(_Beside(section, name, value, file, lines[path]))
    return found


def _checkable(content: bytes) -> str:
    """Return the file's text if everything in it that is to be checked is a text, else ""."""
    try:
        text = content.decode("utf-8")
        data = tomllib.loads(text)
    except (UnicodeDecodeError, tomllib.TOMLDecodeError, RecursionError):
        return ""
    machine, limits = data.get("machine"), data.get(SECTION, {})
    if not isinstance(machine, dict) or not isinstance(machine.get("title"), str):
        return ""
    for section in ("captions", "parts", "scripts"):
        words = data.get(section, {})
        if not isinstance(words, dict) or not all(isinstance(one, str) for one in words.values()):
            return ""
    if not isinstance(limits, dict) or not all(
        name in LIMITS and isinstance(change, dict) and type(change.get("value")) is int
        for name, change in limits.items()
    ):
        return ""
    return text


class _Language:
    """One language's file."""

    def __init__(self, tag: str, text: str, pauses: Pauses, beside: list[_Beside]) -> None:
        self._tag = tag
        self._file = f"{FOLDER}/{tag}.toml"
        self._data: dict[str, Any] = tomllib.loads(text)
        self._lines = lines_in_file(text)
        self._pauses = pauses
        self._beside = beside
        self._changed: dict[str, int] = {
            name: change["value"] for name, change in self._data.get(SECTION, {}).items()
        }
        self._needed: set[str] = set()
        self._mistakes: list[Mistake] = []

    def check(self) -> list[Mistake]:
        """Return a mistake for each text beyond a limit, and for each changed limit that nothing needs."""
        for section in ("captions", "tell_tales", "see_or_feel", "ahead"):
            for name, text in self._data.get(section, {}).items():
                self._check_caption((section, name), text)
        for one in self._beside:
            self._check_caption((one.section, one.name), one.text)
        self._check_label(("machine", "title"), self._data["machine"]["title"])
        for section in ("parts", "scripts"):
            for name, text in self._data.get(section, {}).items():
                self._check_label((section, name), text)
        for name, value in self._changed.items():
            if LIMITS[name].is_stricter_than(value) and name not in self._needed:
                enough = f"{LIMITS[name].value} {LIMITS[name].unit}"
                what = f"no text needs the changed limit {name}, because {enough} is enough"
                self._wrong((SECTION, name), what, "nothing; delete this table")
        return self._mistakes

    def _check_caption(self, path: tuple[str, str], text: str) -> None:
        section, name = path
        spoken, printed = PLACE.sub(SPOKEN, text), PLACE.sub(FIGURES, text)
        takes_s = reading_us(printed) / S_US
        if limit := self._breaks("seconds", takes_s):
            what = f'"{name}" takes {takes_s:.1f} s to read'
            self._beyond(path, "seconds", limit, what, "fewer words, or two captions")
        sentence = max(sentences_in(spoken), key=lambda one: len(words_in(one)), default="")
        words = len(words_in(sentence))
        if limit := self._breaks("words-a-sentence", words):
            what = f'"{name}" has a sentence of {words} words ("{sentence[:30]}...")'
            self._beyond(path, "words-a-sentence", limit, what, "two sentences")
        self._check_lines(path, printed)
        # Only captions stand in large type on the shared screen, beside the drawing.
        if section == "captions" and (limit := self._breaks("characters", len(printed))):
            what = f'"{name}" has {len(printed)} characters'
            self._beyond(path, "characters", limit, what, "one idea in fewer words")
        if _ENGLISH.fullmatch(self._tag) and words:
            grade = reading_grade(count(spoken))
            if limit := self._breaks("grade", grade):
                what = f'"{name}" takes {grade:.1f} years of school to read'
                self._beyond(path, "grade", limit, what, "shorter words and sentences")
        if section == "captions" and (pause := self._pauses.shortest_for(name)) is not None:
            self._check_pause(path, printed, *pause)

    def _check_lines(self, path: tuple[str, str], printed: str) -> None:
        longest = self._changed.get("characters-a-line", LIMITS["characters-a-line"].value)
        lines = lines_of(printed, longest)
        widest = max(lines, key=len, default="")
        if limit := self._breaks("characters-a-line", len(widest)):
            what = f'"{path[1]}" has a word of {len(widest)} characters, too long for a line'
            self._beyond(path, "characters-a-line", limit, what, "a shorter word")
        if limit := self._breaks("lines", len(lines)):
            what = f'"{path[1]}" takes {len(lines)} lines'
            self._beyond(path, "lines", limit, what, f"at most {limit * longest} characters")

    def _check_pause(self, path: tuple[str, str], printed: str, pause_us: int, step: str) -> None:
        pause_s = pause_us / S_US
        if limit := self._breaks("seconds-at-least", pause_s):
            what = f'"{path[1]}" is shown for only {pause_s:g} s, the pause of {step}'
            self._beyond(path, "seconds-at-least", limit, what, f'pause = "{limit} s" in {step}')
        words = max(len(words_in(printed)), len(printed) / CHARACTERS_A_WORD)
        a_minute = words * MINUTE_S / pause_s
        if limit := self._breaks("words-a-minute", a_minute):
            speed = f"{a_minute:.0f} words a minute in the {pause_s:g} s of {step}"
            what = f'"{path[1]}" has to be read at {speed}'
            enough_s = math.ceil(words * MINUTE_S / limit)
            instead = f'fewer words, or pause = "{enough_s} s" in {step}'
            self._beyond(path, "words-a-minute", limit, what, instead)

    def _check_label(self, path: tuple[str, str], text: str) -> None:
        words = len(words_in(text))
        if limit := self._breaks("words-a-label", words):
            what = f'the label "{text}" has {words} words'
            self._beyond(path, "words-a-label", limit, what, "a shorter name")

    def _breaks(self, name: str, measured: float) -> int:
        """Return the limit that applies in this file if the measured value breaks it, else 0."""
        published = LIMITS[name]
        if published.is_broken_by(measured):
            self._needed.add(name)
        applied = msgspec.structs.replace(published, value=self._changed.get(name, published.value))
        return applied.value if applied.is_broken_by(measured) else 0

    def _beyond(self, path: tuple[str, str], name: str, limit: int, what: str, instead: str) -> None:
        published = LIMITS[name]
        bound = f"the {'minimum' if published.is_least else 'maximum'} is {limit} {published.unit}"
        source = published.source if limit == published.value else f"[{SECTION}.{name}] in this file"
        change = f"or a new value, with a reason, in [{SECTION}.{name}]"
        self._wrong(path, f"{what}; {bound} ({source})", f"{instead}, {change}")

    def _wrong(self, path: tuple[str, str], what: str, write_instead: str) -> None:
        other = [one for one in self._beside if (one.section, one.name) == path and path not in self._lines]
        file, line = (other[0].file, other[0].line) if other else (self._file, self._lines[path])
        self._mistakes.append(Mistake(file, line, what, write_instead))
