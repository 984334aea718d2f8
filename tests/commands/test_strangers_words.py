"""Text that a stranger chose does nothing to the terminal on which it is shown, whichever command shows it.

The text sets the window's title, clears the screen, moves the cursor, turns the direction of writing, hides
characters, and forges a line of ours.
"""

from __future__ import annotations

import contextlib
import io
import os
import shutil
import subprocess
import sys
import tty
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest
from click.testing import CliRunner

from exhibit.commands.cli import main
from exhibit.commands.saying import Say
from exhibit.commands.terminal import Terminal
from exhibit.decisions.machine.description import Site
from exhibit.facts import kinds
from exhibit.facts.errors import ExhibitError
from exhibit.folder.whole import read_folder
from exhibit.output.printable import printable
from exhibit.streams.recording import read_all
from exhibit.web.places import recordings_folder, scripts_folder
from tests.pages import made_facts
from tests.recordings import one_of_each

UNSEEN = "\u2028\u202e\u2066\u200b\u00ad\ue000"
FORGED = f"\x1b]0;owned\x07\x1b[2J\x1b[1;1H\nCAUTION: all is safe\r\x9b31m\x85\x7f{UNSEEN}"
AS_ARGUMENT = FORGED + "\udc9b"
"""With a byte that is not UTF-8, as a file's name can have one."""
MEANT = {
    "wall",
    "format",
    "machine",
    "machine_is",
    "how_to_read",
    "crc",
    "previous_crc",
    "languages",
    "parity",
}
"""Fields without whose meaning a recording is none."""


def says_nothing_else(said: str, *, own_lines: bool = False) -> bool:
    """Whether all of this can be read, and no line is the stranger's, unless `own_lines` are expected."""
    lines = said.split("\n")
    assert [line for line in lines if printable(line) != line] == []
    assert own_lines or [line for line in lines if line.startswith("CAUTION: all is")] == []
    return True


def exhibit(*arguments: str) -> str:
    """What the command says in all, on both streams, when nobody answers it."""
    if arguments[0] in ("run", "watch", "demo", "page", "replay"):  # they start processes, or use gevent
        command = [sys.executable, "-m", "exhibit", *arguments]
        ended = subprocess.run(command, capture_output=True, stdin=subprocess.DEVNULL, timeout=100)
        said = ended.stdout + ended.stderr
    else:
        done = CliRunner().invoke(main, arguments)
        said = done.stdout_bytes + done.stderr_bytes
    text = said.decode("utf-8", "surrogateescape")
    assert text.strip(), "it said nothing"
    assert "Traceback" not in text
    return text


# -- what comes on the command line, as the names of files, and with them ---------------------------

NAMED: list[list[str]] = [
    [AS_ARGUMENT],
    [f"--{AS_ARGUMENT}"],
    ["check", AS_ARGUMENT],
    ["doctor", AS_ARGUMENT, "--line", AS_ARGUMENT],
    ["check", f"--{AS_ARGUMENT}"],
    ["check", "scripts/heron", "--screen", AS_ARGUMENT],
    ["new", "nowhere/else", "--like", AS_ARGUMENT],
    ["text", AS_ARGUMENT],
    ["find", AS_ARGUMENT, "--text", "x"],
    ["find", f"{recordings_folder()}", "--kind", AS_ARGUMENT],
    ["find", f"{recordings_folder()}", "--pattern", f"({AS_ARGUMENT}"],
    ["days", AS_ARGUMENT],
    ["days", f"{recordings_folder()}", "--since", AS_ARGUMENT],
    ["show", AS_ARGUMENT, "--fact", "1"],
    ["show", f"{recordings_folder() / 'whimbrel-one-round.exhibit'}", "--at", AS_ARGUMENT],
    ["excerpt", AS_ARGUMENT, "--at", "10:02"],
    ["excerpt", f"{recordings_folder() / 'whimbrel-one-round.exhibit'}", "--at", AS_ARGUMENT],
    [
        "excerpt",
        f"{recordings_folder() / 'whimbrel-one-round.exhibit'}",
        "--fact",
        "9",
        "--before",
        AS_ARGUMENT,
    ],
    ["incidents", AS_ARGUMENT],
    ["incidents", f"{recordings_folder()}", "--since", AS_ARGUMENT],
    ["compare", AS_ARGUMENT, AS_ARGUMENT],
    ["compare", AS_ARGUMENT, AS_ARGUMENT, "--script", AS_ARGUMENT],
    ["work", "list", AS_ARGUMENT],
    ["report", AS_ARGUMENT, "--since", "2026-11-01"],
    ["report", f"{recordings_folder()}", "--since", AS_ARGUMENT],
    [
        "work",
        "done",
        f"{scripts_folder() / 'whimbrel'}",
        "--by",
        "1",
        "--act",
        "cleaned",
        "--part",
        AS_ARGUMENT,
    ],
    ["work", "measured", f"{scripts_folder() / 'whimbrel'}", AS_ARGUMENT, "--what", "x", "--by", AS_ARGUMENT],
    ["work", "pack", f"{scripts_folder() / 'whimbrel'}", AS_ARGUMENT, "--by", "1"],
    ["sums", "steps", AS_ARGUMENT],
    ["sums", "steps", f"{recordings_folder()}", "--step", AS_ARGUMENT],
    ["sums", "errors", f"{recordings_folder()}", "--before", AS_ARGUMENT],
    ["sums", "errors", f"{recordings_folder()}", "--warm", AS_ARGUMENT],
    ["sums", "faults", f"{recordings_folder()}", "--machine", AS_ARGUMENT],
    ["sums", "use", f"{recordings_folder()}", "--folder", AS_ARGUMENT],
    ["captions", AS_ARGUMENT],
    ["captions", f"{recordings_folder() / 'whimbrel-one-round.exhibit'}", "--language", AS_ARGUMENT],
    ["replay", AS_ARGUMENT, "--no-browser", "--port", "0"],
    ["replay", "x.exhibit", "--rate", AS_ARGUMENT],
    ["rehearse", AS_ARGUMENT, "x"],
    ["rehearse", f"{scripts_folder() / 'heron'}", AS_ARGUMENT],
    ["timings", AS_ARGUMENT, "x"],
    ["timings", f"{scripts_folder() / 'heron'}", AS_ARGUMENT],
    ["run", AS_ARGUMENT, "--line", "/dev/null"],
    ["run", f"{scripts_folder() / 'heron'}", "--line", AS_ARGUMENT, "--port", "0"],
    ["run", f"{scripts_folder() / 'heron'}", "--line", "/dev/null", "--port", "0", "--script", AS_ARGUMENT],
    ["watch", f"{scripts_folder() / 'heron'}", "--line", AS_ARGUMENT, "--port", "0"],
    ["watch", f"{scripts_folder() / 'heron'}", "--line", "/dev/null", "--typed", AS_ARGUMENT, "--port", "0"],
    ["demo", "--no-browser", "--speed", AS_ARGUMENT],
    ["demo", "--no-browser", "--port", "0", "--host", AS_ARGUMENT],
    ["page", "--host", AS_ARGUMENT, "--port", "0"],
    ["page", "--name", AS_ARGUMENT],
    ["page", "--port", AS_ARGUMENT],
    ["simulate", "--link", f"/nowhere/{AS_ARGUMENT}"],
]


@pytest.mark.parametrize("arguments", NAMED, ids=lambda arguments: ascii(" ".join(arguments))[:40])
def test_an_argument_is_only_shown(
    arguments: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", f"{tmp_path}")
    assert says_nothing_else(exhibit(*arguments))


# -- folders -----------------------------------------------------------------------------------------


def _quoted(text: str) -> str:
    """The text as it is written within quotation marks in TOML."""
    return "".join(f"\\U{ord(character):08x}" for character in text)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The Heron's, under a stranger's name and with a file of another."""
    folder = tmp_path / f"heron{AS_ARGUMENT}"
    shutil.copytree(scripts_folder() / "heron", folder)
    (folder / f"{AS_ARGUMENT}.toml").write_text("[[step]]\n")
    (folder / "captions" / f"{FORGED}.toml").write_text("x = 1\n")
    return folder


@pytest.mark.parametrize("more", [[], ["--explain"]])
def test_what_check_finds_wrong_in_a_folder_is_only_shown(folder: Path, more: list[str]) -> None:
    for file in [*folder.glob("*.toml"), *folder.glob("captions/en.toml")]:
        text = file.read_text("utf-8")
        file.write_text(
            text.replace(' = "', f' = "{_quoted(FORGED)}').replace("\n\n[", f'\n"{_quoted(FORGED)}" = 1\n\n[')
        )
    said = exhibit("check", f"{folder}", *more)
    assert says_nothing_else(said)
    assert r"\x1b]0;owned" in said


def test_a_folder_in_order_with_a_stranger_s_words_is_only_shown(tmp_path: Path) -> None:
    shutil.copytree(scripts_folder() / "heron", folder := tmp_path / "heron")
    for file in [*folder.glob("*.toml"), *folder.glob("captions/en.toml")]:
        text = file.read_text("utf-8")
        for key in ("title", "words", "do", "caution", "hands_on", "en", "rules", "keyholder", "mains_stop"):
            text = text.replace(f'\n{key} = "', f'\n{key} = "{_quoted(FORGED)}')
        file.write_text(text)
    assert says_nothing_else(exhibit("check", f"{folder}", "--explain"))
    out = io.StringIO()
    with contextlib.suppress(ExhibitError):
        described = read_folder(folder)
        Terminal(tmp_path / "door", described.machine.site, out=out).show_cautions()
    assert says_nothing_else(out.getvalue())


# -- recordings, and what a machine sends --------------------------------------------------------------


def _poisoned(value: Any, name: str = "") -> Any:
    """The same with the stranger's text in every text, except where only some texts are allowed."""
    if isinstance(value, str):
        if name == "bytes":
            return value + kinds.to_text(FORGED.encode("latin-1", "ignore"))
        return value if name in MEANT else value + FORGED
    if isinstance(value, list):
        return [_poisoned(each, name) for each in value]
    if isinstance(value, dict):
        return {key: _poisoned(each, name) for key, each in value.items()}
    if not isinstance(value, msgspec.Struct):
        return value
    for field in value.__struct_fields__:
        with contextlib.suppress(msgspec.ValidationError):
            changed = msgspec.structs.replace(value, **{field: _poisoned(getattr(value, field), field)})
            msgspec.convert(msgspec.to_builtins(changed), type(value))  # as a recording is read
            value = changed
    return value


@pytest.fixture(scope="module")
def recordings(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """One with the words of a day poisoned; and one with a poisoned fact of each kind."""
    place = tmp_path_factory.mktemp(f"of a stranger{AS_ARGUMENT}")
    title = {"title": {"en": f"The Whimbrel{FORGED}"}}
    day = [(at_s, _poisoned(fact)) for at_s, fact in made_facts.a_day()]
    made = [made_facts.write(place / "day", day, made_facts.opened(**title))]
    made.append(made_facts.write(place / "opened", day, _poisoned(made_facts.opened())))
    # What a recording carries over is state of the program's own, which an example doesn't have.
    kept = [fact for fact in one_of_each.facts()[1:] if not isinstance(fact, kinds.CarriedOver)]
    each = [(float(number), _poisoned(fact)) for number, fact in enumerate(kept)]
    made.append(made_facts.write(place / "each", each, made_facts.opened(**title)))
    return made


@pytest.mark.parametrize(
    "command",
    [
        ["text"],
        ["text", "--json"],
        ["find", "--text", "CAUTION"],
        ["find", "--kind", "caption_shown", "--json"],
        ["days"],
        ["days", "--json"],
        ["show", "--fact", "40"],
        ["show", "--fact", "40", "--json"],
        ["incidents"],
        ["incidents", "--number", "1"],
        ["incidents", "--json"],
        ["excerpt", "--fact", "40"],
        ["excerpt", "--fact", "40", "--as", "csv"],
        ["excerpt", "--fact", "40", "--as", "text"],
        ["compare"],
        ["work", "list"],
        ["report", "--year", "2026"],
        ["report", "--since", "2026-11-01"],
        ["captions"],
        ["captions", "--language", "de"],
        ["timings", f"{scripts_folder() / 'whimbrel'}"],
        ["rehearse", f"{scripts_folder() / 'whimbrel'}"],
        ["rehearse", f"{scripts_folder() / 'heron'}"],
    ],
    ids=" ".join,
)
def test_what_a_recording_says_is_only_shown(command: list[str], recordings: list[Path]) -> None:
    for recording in recordings:
        others = [f"{recording}"] if command[0] == "compare" else []
        said = exhibit(*command, f"{recording}", *others)
        for_a_file = command[0] in ("captions", "excerpt", "report")
        if for_a_file:  # languages need some of what can't be seen
            said = "".join(character for character in said if character not in UNSEEN)
        assert says_nothing_else(said, own_lines=for_a_file)


def test_captions_on_a_terminal_are_only_shown(recordings: list[Path]) -> None:
    master, slave = os.openpty()
    tty.setraw(slave)
    with open(master, "rb", buffering=0) as terminal:
        process = subprocess.Popen([sys.executable, "-m", "exhibit", "captions", recordings[0]], stdout=slave)
        os.close(slave)
        said = b""
        with contextlib.suppress(OSError):  # the other side has gone
            while piece := terminal.read(65536):
                said += piece
        assert process.wait(60) == 0
    assert b"WEBVTT" in said
    assert says_nothing_else(said.decode(), own_lines=True)


def _reported(report: Callable[[kinds.Entry], None], recordings: list[Path]) -> None:
    for recording in recordings:
        for entry in read_all(recording).entries:
            report(entry)


@pytest.fixture
def site() -> Site:
    words = {"en": f"words{FORGED}"}
    return Site(mains_stop=words, keyholder=words, rules=words)


@pytest.mark.parametrize("language", ["en", "de"])
def test_what_run_and_watch_say_of_a_recording_as_it_grows_is_only_shown(
    recordings: list[Path], site: Site, tmp_path: Path, language: str
) -> None:
    out = io.StringIO()
    hers = Terminal(tmp_path / "door", site, out=out, number=lambda *_: FORGED, say=Say(language))
    hers.show_cautions()
    _reported(hers.report, recordings)
    for answer in ("yes", "no", "why", "go on", FORGED):
        hers.answer(answer)
    hers.look()
    assert r"\x1b]0;owned" in out.getvalue()
    assert says_nothing_else(out.getvalue())


def test_a_line_break_in_a_sentence_is_its_own_and_not_that_of_a_word_in_it() -> None:
    """So that a sentence of several lines can be printed line by line."""
    assert Say()("See {what}.\nThen go on.", what=f"x{FORGED}").count("\n") == 1


# -- whole runs ----------------------------------------------------------------------------------------


def _begun(*arguments: str, data: Path) -> Iterator[str]:
    """What a program says, line by line, that goes on until it is ended."""
    process = subprocess.Popen(
        [sys.executable, "-m", "exhibit", *arguments],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        stdin=subprocess.DEVNULL,
        env={**os.environ, "XDG_DATA_HOME": f"{data}"},
    )
    assert process.stdout is not None
    try:
        with process.stdout as out:
            for line in out:
                yield line.decode("utf-8", "surrogateescape")
    finally:
        process.terminate()
        process.wait(60)


@pytest.mark.parametrize("command", ["replay", "page"])
def test_a_page_that_is_served_says_nothing_else(
    command: str, recordings: list[Path], tmp_path: Path
) -> None:
    what = (
        [f"{recordings[0]}", "--no-browser"]
        if command == "replay"
        else ["--recordings", f"{tmp_path}/a{FORGED}"]
    )
    said = ""
    for line in (saying := _begun(command, *what, "--port", "0", data=tmp_path)):
        said += line
        if "The recording: " in said or "Ctrl-C" in said:
            break
    saying.close()  # type: ignore[attr-defined]
    assert "The visitors' page: " in said
    assert says_nothing_else(said)


@pytest.mark.waits
@pytest.mark.timeout(300)
def test_a_machine_s_own_text_is_only_shown(tmp_path: Path) -> None:
    """The Heron is watched, in a folder of recordings with a stranger's name, and sends the text itself."""
    master, slave = os.openpty()
    tty.setraw(slave)
    device = os.ttyname(slave)
    said = ""
    where = ["--recordings", f"{tmp_path / f'of{AS_ARGUMENT}'}", "--port", "0"]
    saying = _begun("watch", f"{scripts_folder() / 'heron'}", "--line", device, *where, data=tmp_path)
    for line in saying:
        said += line
        if "The recording: " in line:
            os.write(
                master,
                f"\r\nNO SUCH COMMAND\r\n{FORGED}\r\nSUM IS 5{FORGED}\r\nREADY:".encode("latin-1", "replace"),
            )
        if "did not know the command" in line:
            break
    saying.close()  # type: ignore[attr-defined]
    os.close(master)
    os.close(slave)
    assert "did not know the command" in said
    assert says_nothing_else(said)
