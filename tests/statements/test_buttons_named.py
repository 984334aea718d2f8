"""What the folders tell a docent to answer: the button's own word, and the terminal takes it too."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from exhibit.commands.answers import meaning

ROOT = Path(__file__).resolve().parents[2]
CAPTIONS = sorted(ROOT.glob("scripts/*/captions/*.toml"))
TO_DOCENTS = ("hands_on", "cautions", "troubles")
NO_BUTTON = re.compile(
    r"\banswer\b|\bsay (yes|no)\b|\b[Aa]ntworten Sie\b|\bmit (Ja|Nein)\b|\btype:|\btippen Sie:"
)
NAMED = re.compile(r"(?:press|choose|drücken Sie|wählen Sie)(?: dann)? [“„]([^”“]+)[”“]")


def texts(tree: Any) -> Iterator[str]:
    if isinstance(tree, str):
        yield tree
        return
    for one in tree.values():
        yield from texts(one)


def to_docents(path: Path) -> list[str]:
    read = tomllib.loads(path.read_text())
    return [text for name in TO_DOCENTS for text in texts(read.get(name, {}))]


@pytest.mark.parametrize("path", CAPTIONS, ids=lambda path: f"{path.parts[-3]}-{path.stem}")
def test_no_docent_is_told_to_give_an_answer_that_no_button_has(path: Path) -> None:
    assert [text for text in to_docents(path) if NO_BUTTON.search(text)] == []


@pytest.mark.parametrize("tag", ["en", "de"])
def test_a_button_that_is_named_is_on_the_page_and_can_be_typed_at_the_terminal(tag: str) -> None:
    labels = (ROOT / f"web/desk/words_{tag}.js").read_text()
    named = {
        one
        for text in to_docents(ROOT / f"scripts/whimbrel/captions/{tag}.toml")
        for one in NAMED.findall(text)
    }
    assert len(named) >= 3
    for one in named:
        assert re.search(rf'"{re.escape(one)}[":( ]', labels), one
        assert meaning(one, german=tag == "de")[0], one


@pytest.mark.parametrize("tag", ["en", "de"])
def test_nobody_is_told_to_wait_for_what_the_machine_may_have_said_already(tag: str) -> None:
    """A lamp shows what is so now; a line on the console may have come before."""
    told = to_docents(ROOT / f"scripts/whimbrel/captions/{tag}.toml")
    on_the_console = (
        r"Wait until the console|until [^.]* says SMALL|bis auf der Konsole|Wait until the lamp of"
    )
    assert [text for text in told if re.search(on_the_console, text)] == []
    ready = [
        text for text in told if "START" in text and "READY" in text and re.search("wait|[Ww]arten", text)
    ]
    assert len(ready) == 2
    for text in ready:
        assert re.search("STARTING: wait until it says READY|STARTING: Warten Sie, bis sie READY", text)


def test_nothing_of_the_machine_can_be_read_as_said_to_the_reader() -> None:
    """“Sie” begins no text about the machine: there it is also how a reader is addressed."""
    read = tomllib.loads((ROOT / "scripts/whimbrel/captions/de.toml").read_text())
    told = [
        text for name in ("captions", "rounds", "chapters", "told", "ahead") for text in texts(read[name])
    ]
    assert [text for text in told if re.match(r"(Sie|Ihre?[nmr]?) ", text)] == []
