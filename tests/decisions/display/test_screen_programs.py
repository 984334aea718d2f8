"""Real full-screen programs, run here and now: where two other screens agree, ours agrees.

The other two are @xterm/headless and tmux. Each program runs with TERM=ansi and with an entry of
our own that has every capability a program may want. Its output is looked at before each of its
keys, at even distances in between (in the middle of sequences too) and at its end.
"""

from collections.abc import Iterator
from pathlib import Path

import pytest

from exhibit.decisions.display.characters import SUBSTITUTE_MARK
from exhibit.decisions.display.screen import Screen
from exhibit.decisions.display.wire import Wire
from tests.conftest import Needs
from tests.decisions.display.oracles.feeds import feeds
from tests.decisions.display.oracles.headless_terminal import HeadlessTerminal, headless_terminal
from tests.decisions.display.oracles.programs import (
    Program,
    compiled_terminfo,
    cuts_of,
    programs,
    written_by,
)
from tests.decisions.display.oracles.tmux_terminal import TmuxTerminal, tmux_terminal

pytestmark = pytest.mark.timeout(600)

TERMINALS = ("ansi", "whimbrel-glass")
PROGRAMS = [program.name for program in programs(Path())]
MOST_CUTS = 12


@pytest.fixture(scope="module")
def xterm(needs: Needs) -> Iterator[HeadlessTerminal]:
    with headless_terminal(needs.node()) as terminal:
        yield terminal


@pytest.fixture(scope="module")
def tmux(needs: Needs, tmp_path_factory: pytest.TempPathFactory) -> Iterator[TmuxTerminal]:
    with tmux_terminal(needs("tmux"), tmp_path_factory.mktemp("tmux")) as terminal:
        yield terminal


@pytest.fixture(scope="module")
def terminfo(needs: Needs, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return compiled_terminfo(needs("tic"), tmp_path_factory.mktemp("terminfo"))


@pytest.fixture
def program(request: pytest.FixtureRequest, tmp_path: Path) -> Program:
    file = tmp_path / "tides"
    lines = (f"tide {number:03}: high water {number % 12}:{number % 60:02}\n" for number in range(1, 201))
    file.write_text("".join(lines))
    return next(program for program in programs(file) if program.name == request.param)


def _marked(stream: bytes) -> bytes:
    """The stream as the two others are to get it: each byte of 0x80 or more is one mark, in UTF-8."""
    return stream.decode("latin-1").translate({code: SUBSTITUTE_MARK for code in range(0x80, 0x100)}).encode()


def _ours(pieces: list[bytes]) -> tuple[list[str], tuple[int, int]]:
    wire, screen = Wire("data"), Screen(24, 80)
    for piece in pieces:
        screen.apply(wire.feed(piece))
    row, column, _ = screen.cursor
    return screen.text_rows(), (row, column)


@pytest.mark.parametrize("terminal", TERMINALS)
@pytest.mark.parametrize("program", PROGRAMS, indirect=True)
def test_where_two_other_terminals_agree_on_a_real_program_ours_agrees(
    program: Program,
    terminal: str,
    terminfo: Path,
    xterm: HeadlessTerminal,
    tmux: TmuxTerminal,
    needs: Needs,
    capsys: pytest.CaptureFixture[str],
) -> None:
    stream, places = written_by(program, needs(program.needs), terminal, terminfo)
    cuts = cuts_of(stream, places, 1 + len(stream) // MOST_CUTS)
    agreed = asked = 0
    unlike = []
    for cut, theirs in zip(cuts, xterm.show([_marked(stream[:cut]) for cut in cuts]), strict=True):
        tmux_rows, tmux_cursor = tmux.show(_marked(stream[:cut]))
        rows, cursor = _ours([stream[:cut]])
        for how, pieces in feeds(stream[:cut]).items():
            assert _ours(pieces) == (rows, cursor), how
        row, column = theirs.cursor
        compared = list(zip(rows, theirs.text(), tmux_rows, strict=True))
        others = ((row, min(column, 79)), (tmux_cursor[0], min(tmux_cursor[1], 79)))
        compared.append((str(cursor), str(others[0]), str(others[1])))
        for number, (our, first, second) in enumerate(compared):
            asked += 1
            if first == second:
                agreed += 1
                if our != first:
                    unlike.append((cut, number, our, first))
    with capsys.disabled():
        print(
            f"\n{program.name}, TERM={terminal}: {len(stream)} bytes looked at {len(cuts)} times, "
            f"the others agree on {agreed} of {asked} rows and cursors ({100 * agreed / asked:.1f} %)"
        )
    assert not unlike
    assert agreed > 0.8 * asked, "too little to judge by"
