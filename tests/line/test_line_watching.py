"""On the watch-only path there is no code that can write to the port."""

import ast
import errno
import fcntl
import importlib.util
import os
import queue
import tty
from pathlib import Path

import grimp
import pytest

from exhibit.facts.line_settings import LineSettings
from exhibit.line.events import Received
from exhibit.line.port import open_line

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "exhibit"
TYPIST = "exhibit.line.typist"
WATCH_PATH = ["exhibit.line.port", "exhibit.line.reader", "exhibit.bridge.watching"]
HANDLES_PORTS = ["exhibit.line.port", "exhibit.line.reader"]
WRITES = {"write", "writelines", "pwrite", "writev", "send", "sendall", "sendmsg", "sendto", "sendfile"}
"""Every name by which Python's standard library and pyserial write bytes."""


@pytest.fixture(scope="module")
def graph():
    return grimp.build_graph("exhibit", include_external_packages=True, cache_dir=None)


def tree_of(module: str) -> ast.Module:
    return ast.parse(Path(importlib.util.find_spec(module).origin).read_text("utf-8"))


def names_used(tree: ast.AST) -> set[str]:
    """Each attribute and each name that the code refers to; definitions in a Protocol don't count."""
    attributes = {node.attr for node in ast.walk(tree) if isinstance(node, ast.Attribute)}
    return attributes | {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}


def modules() -> list[str]:
    return sorted(
        ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
        for path in PACKAGE.rglob("*.py")
    )


@pytest.mark.parametrize("module", WATCH_PATH)
def test_whatever_the_watch_path_imports_the_typist_is_not_among_it(graph, module):
    reached = graph.find_upstream_modules(module)
    assert "exhibit.line.events" in reached, "the graph is empty, so it proves nothing"
    assert TYPIST not in reached | {module}


OWNS_PORTS = {"exhibit.passing.between", "exhibit.passing.device", "exhibit.passing.__main__"}


@pytest.mark.parametrize("module", WATCH_PATH)
def test_the_watch_path_can_t_reach_what_passes_characters_on(graph, module):
    """The bridge only hears of them, from another process."""
    assert graph.find_upstream_modules(module) & OWNS_PORTS == set()


def test_the_passing_process_does_reach_it(graph):
    """So the test above would notice."""
    assert graph.find_upstream_modules("exhibit.passing.__main__") >= OWNS_PORTS - {
        "exhibit.passing.__main__"
    }


def test_only_one_place_in_the_passing_process_writes_to_a_port():
    """It writes what was read from the other side: nothing else is ever put into `unsent`."""
    tree = tree_of("exhibit.passing.between")
    assert [ast.unparse(call) for call in calls_of(tree, "write") if len(call.args) == 2] == [
        "os.write(self.fd, self.unsent)"
    ]
    added = [ast.unparse(node) for node in ast.walk(tree) if isinstance(node, ast.AugAssign)]
    assert [text for text in added if "unsent +=" in text] == ["other.unsent += data"]


def test_the_path_that_types_does_import_the_typist(graph):
    """So the test above would notice one."""
    assert TYPIST in graph.find_upstream_modules("exhibit.bridge.scripted")


@pytest.mark.parametrize("module", HANDLES_PORTS)
def test_the_modules_that_have_the_port_mention_no_way_to_write(module):
    assert names_used(tree_of(module)) & WRITES == set()


def test_only_the_typist_mentions_writing_to_a_port():
    """Of all modules that mention a port's type or pyserial, only this one refers to a `write`."""
    holders = [name for name in modules() if names_used(tree_of(name)) & {"OpenPort", "TypingPort", "serial"}]
    assert set(holders) >= {*HANDLES_PORTS, TYPIST}
    assert [name for name in holders if names_used(tree_of(name)) & WRITES] == [TYPIST]


def calls_of(tree: ast.AST, name: str) -> list[ast.Call]:
    return [
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
        and name in (getattr(node.func, "attr", ""), getattr(node.func, "id", ""))
    ]


def names_defined(tree: ast.AST) -> set[str]:
    return {node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}


def test_a_port_leaves_the_reader_only_by_being_lent_to_a_borrower():
    reader = tree_of("exhibit.line.reader")
    lent = calls_of(reader, "lend")
    assert len(lent) == 1
    given_away = [
        ast.unparse(call.func)
        for call in ast.walk(reader)
        if isinstance(call, ast.Call) and any(ast.unparse(argument) == "port" for argument in call.args)
    ]
    its_own = {"self._read", "self._read_until_lost", "self._lend"}
    assert {name.removeprefix("self.") for name in its_own} <= names_defined(reader)
    assert set(given_away) - its_own == {"self._borrower.lend"}


def test_watching_passes_no_borrower():
    calls = calls_of(tree_of("exhibit.bridge.watching"), "run_bridge")
    assert len(calls) == 1
    given = {keyword.arg: ast.unparse(keyword.value) for keyword in calls[0].keywords}
    assert (given["borrower"], given["type_byte"]) == ("None", "None")


FORBIDDEN_EVERYWHERE = {
    # A BREAK can halt a console's processor; nothing may send one.
    "send_break", "break_condition", "tcsendbreak", "TIOCSBRK", "TCSBRK", "SET_CONTROL_BREAK_ON",
    # Can hang forever while the line is held up (pyserial #625, #226).
    "tcdrain",
    # A race both ways: the next read may come back empty (pyserial #203).
    "cancel_read", "cancel_write",
    # Rewrites timeouts and hides errors (pyserial #788, #107).
    "ReaderThread",
}  # fmt: skip


@pytest.mark.parametrize("module", modules())
def test_no_module_can_send_a_break_or_call_what_is_known_to_hang(module):
    tree = tree_of(module)
    constants = [node.value for node in ast.walk(tree) if isinstance(node, ast.Constant)]
    strings = {constant for constant in constants if isinstance(constant, str)}
    assert names_used(tree) & FORBIDDEN_EVERYWHERE == set()
    assert strings & FORBIDDEN_EVERYWHERE == set()


def test_the_modules_with_the_port_never_wait_until_everything_is_sent():
    for module in (*HANDLES_PORTS, TYPIST):
        assert "flush" not in names_used(tree_of(module))


@pytest.fixture
def terminal():
    master, slave = os.openpty()
    path = os.ttyname(slave)
    tty.setraw(slave)
    os.close(slave)
    yield master, path
    os.close(master)


def descriptors_of(path: str) -> list[int]:
    found = []
    for name in os.listdir("/proc/self/fd"):
        try:
            if os.readlink(f"/proc/self/fd/{name}") == path:
                found.append(int(name))
        except OSError:
            continue
    return found


def test_the_system_itself_refuses_a_write_to_a_watched_device(terminal):
    master, path = terminal
    heard = queue.Queue()
    line = open_line(path, LineSettings(), lambda: 0, heard.put)
    try:
        (descriptor,) = descriptors_of(path)
        assert fcntl.fcntl(descriptor, fcntl.F_GETFL) & os.O_ACCMODE == os.O_RDONLY
        with pytest.raises(OSError, match="Bad file descriptor") as refused:
            os.write(descriptor, b"no")
        assert refused.value.errno == errno.EBADF
        os.write(master, b"heard")
        heard.get(timeout=30)
        assert isinstance(heard.get(timeout=30), Received)
    finally:
        line.stop()


def test_a_line_opened_for_typing_can_be_written_to(terminal):
    """So the test above would notice a device that can."""

    class Borrower:
        def lend(self, port, opening): ...
        def take_back(self): ...

    line = open_line(terminal[1], LineSettings(), lambda: 0, queue.Queue().put, borrower=Borrower())
    try:
        (descriptor,) = descriptors_of(terminal[1])
        assert fcntl.fcntl(descriptor, fcntl.F_GETFL) & os.O_ACCMODE == os.O_RDWR
    finally:
        line.stop()
