"""Damaged characters that hardware counts, and which other programs have a port open."""

import os
import pty
import socket
import struct

import pytest

from exhibit.line.error_counter import ErrorCounter, counts_in, read_counts
from exhibit.line.port_holders import holders


def as_the_system_answers(**counts: int) -> bytes:
    """linux/serial.h, struct serial_icounter_struct (checked with offsetof: frame is at byte 24)."""
    order = ("cts", "dsr", "rng", "dcd", "rx", "tx", "frame", "overrun", "parity", "brk", "buf_overrun")
    return struct.pack("20i", *(counts.get(name, 0) for name in order), *[0] * 9)


def test_the_four_counts_are_found_in_the_system_s_answer():
    answer = as_the_system_answers(rx=9000, tx=12, frame=3, overrun=2, parity=5, brk=1, buf_overrun=4)
    assert counts_in(answer) == (5, 3, 6, 1)


def test_only_the_increase_since_the_last_call_is_reported():
    answers = iter([(5, 3, 6, 1), (5, 3, 6, 1), (7, 3, 6, 2)])
    counter = ErrorCounter(0, lambda fd: next(answers))
    assert counter.increase() is None
    assert counter.increase() == (2, 0, 0, 1)


def test_a_counter_that_was_reset_counts_from_zero():
    answers = iter([(5, 3, 6, 1), (1, 0, 6, 1)])
    assert ErrorCounter(0, lambda fd: next(answers)).increase() == (1, 0, 0, 0)


def test_without_a_counter_there_are_no_counts():
    master, slave = pty.openpty()
    with socket.socket() as unconnected:
        for fd in (master, slave, unconnected.fileno(), -1):
            assert read_counts(fd) is None
            assert ErrorCounter(fd).increase() is None
    os.close(master)
    os.close(slave)


@pytest.fixture
def processes(tmp_path):
    """A made folder of processes: number -> (name, open files)."""

    def make(table):
        for number, (name, files) in table.items():
            folder = tmp_path / number / "fd"
            folder.mkdir(parents=True)
            (tmp_path / number / "comm").write_text(f"{name}\n")
            for at, target in enumerate(files):
                (folder / str(at)).symlink_to(target)
        (tmp_path / "self").mkdir()
        return tmp_path

    return make


def test_programs_that_have_the_port_open_are_named(processes):
    made = processes(
        {
            "411": ("getty", ["/dev/null", "/dev/ttyUSB0"]),
            "52": ("cat", ["/dev/ttyUSB0"]),
            "53": ("cat", ["/dev/ttyUSB1"]),
            str(os.getpid()): ("exhibit", ["/dev/ttyUSB0"]),
        }
    )
    assert holders("/dev/ttyUSB0", made) == ["cat (process 52)", "getty (process 411)"]


def test_a_name_that_is_a_link_is_followed_to_the_device(processes, tmp_path):
    made = processes({"411": ("getty", ["/dev/ttyUSB0"])})
    (tmp_path / "by-id").symlink_to("/dev/ttyUSB0")
    assert holders(str(tmp_path / "by-id"), made) == ["getty (process 411)"]


def test_the_other_end_of_a_pseudo_terminal_is_the_machine_and_does_not_count(processes):
    made = processes(
        {
            "60": ("simulator", ["/dev/pts/7", "/dev/pts/ptmx"]),
            "61": ("simulator", ["/dev/pts/7", "/dev/ptmx"]),
            "62": ("rival", ["/dev/pts/7"]),
        }
    )
    assert holders("/dev/pts/7", made) == ["rival (process 62)"]


def test_a_process_that_ends_meanwhile_is_no_fault(processes):
    made = processes({"70": ("gone", [])})
    (made / "70" / "fd").rmdir()
    (made / "71").mkdir()
    assert holders("/dev/ttyUSB0", made) == []
