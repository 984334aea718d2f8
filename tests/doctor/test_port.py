"""The port is there or not, can be used or not, is open elsewhere or not; and the doctor never opens it."""

from __future__ import annotations

import os
import pty
from collections.abc import Iterator
from pathlib import Path

import pytest

from exhibit.doctor.computer import User
from exhibit.doctor.port import looks_at_port
from exhibit.line.sharing import Sharing
from tests.doctor.made_computer import BRIDGE_UID, LINE, LINE_GID, Made, keys


@pytest.fixture
def terminal(made: Made) -> Iterator[str]:
    """The name of a real pseudo-terminal, to which the made port leads."""
    far, near = pty.openpty()
    name = os.ttyname(near)
    (made.root / "dev").mkdir()
    (made.root / LINE.lstrip("/")).symlink_to(name)
    yield name
    os.close(far)
    os.close(near)


def test_without_a_service_nothing_is_looked_at_unless_it_is_named(made):
    assert keys(looks_at_port(made.computer, "")) == ["port not named"]


def test_with_a_service_its_own_port_is_looked_at(made):
    made.write("/etc/systemd/system/exhibit-bridge.service", "")
    (found,) = looks_at_port(made.computer, "")
    assert (found.key, found.places["line"]) == ("port missing", LINE)


def test_a_missing_port_names_the_adapters_that_are_there(made):
    made.write("/dev/serial/by-id/usb-adapter-0001", "")
    (found,) = looks_at_port(made.computer, LINE)
    assert found.places["there"] == "usb-adapter-0001"


def test_a_network_adapter_is_asked_for_nothing(made):
    assert keys(looks_at_port(made.computer, "socket://192.0.2.7:4001")) == ["port is network"]


def test_a_file_is_no_port(made):
    made.write(LINE, "")
    assert keys(looks_at_port(made.computer, LINE)) == ["port is none"]


def test_a_port_of_another_group_names_the_group(made, terminal, needs):
    needs.that(os.geteuid() == 0, "root: to give the port away")
    os.chown(terminal, 0, 5)
    os.chmod(terminal, 0o620)
    assert "port barred" in keys(looks_at_port(made.computer, LINE))
    os.chmod(terminal, 0o660)
    found = {one.key: one for one in looks_at_port(made.computer, LINE)}
    assert found["port needs group"].places == {"line": LINE, "user": "exhibit-bridge", "group": "tty"}
    os.chown(terminal, 0, LINE_GID)
    assert "port may be used" in keys(looks_at_port(made.computer, LINE))


@pytest.mark.parametrize(
    ("mode", "owner", "group", "may"),
    [
        (0o600, BRIDGE_UID, 0, True),
        (0o400, BRIDGE_UID, 0, False),
        (0o060, BRIDGE_UID, LINE_GID, False),
        (0o660, 0, LINE_GID, True),
        (0o640, 0, LINE_GID, False),
        (0o606, 0, LINE_GID, False),
        (0o666, 0, 0, True),
        (0o660, 0, 0, False),
    ],
)
def test_the_first_of_owner_group_and_others_that_fits_decides(mode, owner, group, may):
    status = os.stat_result((mode, 0, 0, 0, owner, group, 0, 0, 0, 0))
    assert User("x", BRIDGE_UID, frozenset([BRIDGE_UID, LINE_GID])).may(status, write=True) is may


def test_another_program_that_has_it_open_is_named_with_how_to_end_it(made, terminal):
    made.process(811, "/usr/bin/cat", terminal)
    (made.root / "proc/811/fd/3").symlink_to(terminal)
    found = {one.key: one for one in looks_at_port(made.computer, LINE)}
    assert found["port there"].places["device"] == Path(terminal)
    assert found["port held"].places == {"line": LINE, "holder": "cat (process 811)", "pid": "811"}
    assert "port free" not in found


def test_the_bridge_s_own_hold_is_well(made, terminal):
    made.process(811, "/opt/exhibit/now/bin/python3", "/opt/exhibit/now/bin/exhibit", "bridge", "FOLDER")
    (made.root / "proc/811/fd/3").symlink_to(terminal)
    found = keys(looks_at_port(made.computer, LINE))
    assert "port held by bridge" in found
    assert "port held" not in found


@pytest.mark.parametrize(("uid", "key"), [(0, "port free"), (1000, "port free as seen")])
def test_who_cannot_see_everything_is_told_so(made, terminal, uid, key):
    made.uid = uid
    assert key in keys(looks_at_port(made.computer, LINE))


def test_a_port_to_which_the_kernel_writes_is_found(made, terminal):
    name = Path(terminal).name
    (made.root / "dev/serial0").symlink_to(terminal)
    made.write("/proc/cmdline", "root=/dev/mmcblk0p2 console=tty1 console=serial0,115200")
    assert "port is console" in keys(looks_at_port(made.computer, LINE))
    made.write("/proc/cmdline", f"root=/dev/mmcblk0p{name} console=tty1")
    assert "port is console" not in keys(looks_at_port(made.computer, LINE))


@pytest.mark.parametrize(("ms", "key"), [(1, "latency"), (16, "latency long")])
def test_an_adapter_that_gathers_characters_is_found(made, terminal, ms, key):
    made.write(f"/sys/bus/usb-serial/devices/{Path(terminal).name}/latency_timer", f"{ms}\n")
    assert key in keys(looks_at_port(made.computer, LINE))


def test_the_port_is_never_opened(made, terminal):
    """By the report of the kernel (inotify), as the bridge itself notices others."""
    watching = Sharing(terminal, search=lambda _: [])
    assert watching.look() is None
    [*looks_at_port(made.computer, LINE)]
    assert watching.look() is None
    os.close(os.open(terminal, os.O_RDONLY | os.O_NOCTTY))
    assert watching.look() is not None, "it would be noticed"
    watching.close()
