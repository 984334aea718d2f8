"""An adapter that comes back under another name: found again by its lasting name, or said what to do."""

from __future__ import annotations

import os
import queue
from types import SimpleNamespace

import pytest

from exhibit.facts.line_settings import LineSettings
from exhibit.line import faults, port
from exhibit.line import reader as line_reader
from exhibit.line.events import Lost, Opened, Received
from exhibit.line.port import open_line

LONG_S = 30.0


class Computer:
    """A computer with USB sockets: an adapter has a numbered name, and perhaps a lasting one."""

    def __init__(self, folder, monkeypatch) -> None:
        self.folder, self.by_id = folder, folder / "by-id"
        self.by_id.mkdir()
        self.far_ends: dict[str, int] = {}
        self._near: list[int] = []
        for module in (port, faults):
            monkeypatch.setattr(module, "LASTING_NAMES", str(self.by_id))
        monkeypatch.setattr(port.list_ports, "comports", self.comports)
        for name in ("FIRST_PAUSE_S", "LONGEST_PAUSE_S"):
            monkeypatch.setattr(line_reader, name, 0.01)

    def comports(self) -> list[SimpleNamespace]:
        return [SimpleNamespace(device=str(path)) for path in sorted(self.folder.glob("ttyUSB*"))]

    def plug_in(self, name: str, lasting: str = "") -> str:
        self.far_ends[name], near = os.openpty()
        (self.folder / name).symlink_to(os.ttyname(near))
        self._near.append(near)  # so that the system doesn't give its number to the next one
        if lasting:
            (self.by_id / lasting).symlink_to(self.folder / name)
        return str(self.folder / name)

    def unplug(self, name: str) -> None:
        for link in self.by_id.iterdir():
            if os.readlink(link) == str(self.folder / name):
                link.unlink()
        (self.folder / name).unlink()
        os.close(self.far_ends.pop(name))

    def close(self) -> None:
        for descriptor in (*self.far_ends.values(), *self._near):
            os.close(descriptor)


@pytest.fixture
def computer(tmp_path, monkeypatch):
    made = Computer(tmp_path, monkeypatch)
    yield made
    made.close()


@pytest.fixture
def opened():
    lines = []

    def start(url: str) -> queue.Queue:
        heard: queue.Queue = queue.Queue()
        lines.append(open_line(url, LineSettings(), lambda: 7, heard.put))
        assert isinstance(next_of(heard, Opened), Opened)
        return heard

    yield start
    for line in lines:
        assert line.stop(LONG_S)


def next_of(heard: queue.Queue, *kinds: type):
    while True:
        event = heard.get(timeout=LONG_S)
        if isinstance(event, kinds):
            return event


def test_by_its_lasting_name_an_adapter_is_found_again_wherever_it_is_plugged_in(computer, opened):
    computer.plug_in("ttyUSB0", lasting="usb-gull-4711")
    heard = opened(str(computer.by_id / "usb-gull-4711"))
    computer.unplug("ttyUSB0")
    next_of(heard, Lost)
    computer.plug_in("ttyUSB1", lasting="usb-gull-4711")
    assert next_of(heard, Opened, Lost).opening == 2
    os.write(computer.far_ends["ttyUSB1"], b"hello")
    assert next_of(heard, Received).data[:1] == b"h"


@pytest.mark.parametrize("lasting", ["usb-gull-4711", ""])
def test_by_a_numbered_name_it_is_said_which_port_has_appeared_and_how_to_use_it(computer, opened, lasting):
    url = computer.plug_in("ttyUSB0", lasting)
    heard = opened(url)
    computer.unplug("ttyUSB0")
    assert "is gone: the adapter was unplugged" in next_of(heard, Lost).why
    computer.plug_in("ttyUSB1", lasting)
    name = computer.by_id / lasting if lasting else computer.folder / "ttyUSB1"
    why = next_of(heard, Lost).why
    assert why.startswith(f"The port {url} is still gone, but {name} has appeared since.")
    assert f"end this program and start it again with --line {name}." in why
    assert why.endswith("stays the same wherever the adapter is plugged in.") == bool(lasting)
    # Meanwhile it is still looked for under the name that was given.
    computer.unplug("ttyUSB1")
    computer.plug_in("ttyUSB0", lasting)
    assert next_of(heard, Opened).opening == 2


def test_a_port_that_was_there_all_the_time_is_not_suggested(computer, opened):
    url = computer.plug_in("ttyUSB0")
    computer.plug_in("ttyUSB7", lasting="usb-printer")
    heard = opened(url)
    computer.unplug("ttyUSB0")
    assert "is gone" in next_of(heard, Lost).why
    computer.plug_in("ttyUSB1")
    assert "ttyUSB1 has appeared" in (why := next_of(heard, Lost).why)
    assert "printer" not in why
