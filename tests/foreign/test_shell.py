"""The shell serves a machine on TCP ports in real time."""

import contextlib
import json
import signal
import socket
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SEVEN_BITS = bytes(byte & 0x7F for byte in range(256))


@contextlib.contextmanager
def served(machine: str, truth: Path):
    """A machine, a hundred times as fast; its console and its front."""
    command = [sys.executable, "-m", "tests.foreign.shell", machine, "--speed", "100", "--truth", truth]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True) as process:
        ports = [int(process.stdout.readline().split(":")[-1]) for _ in range(2)]
        with (
            socket.create_connection(("127.0.0.1", ports[0])) as console,
            socket.create_connection(("127.0.0.1", ports[1])) as front,
        ):
            console.settimeout(30)
            front.settimeout(30)
            yield console, front
        process.send_signal(signal.SIGTERM)
        assert process.wait(30) == 0


def until(console: socket.socket, text: bytes) -> bytes:
    """Read until `text` has come."""
    came = b""
    while text not in came:
        data = console.recv(4096)
        assert data, came
        came += data.translate(SEVEN_BITS)
    return came


def test_the_bittern_is_started_typed_at_and_read_through_its_ports(tmp_path):
    truth = tmp_path / "truth"
    with served("bittern", truth) as (console, front), front.makefile() as answers:
        front.sendall(b"power on\nstart\n")
        assert answers.readline() == "done: power on\n"
        assert "READY" in answers.readline()
        answer = ""
        while not answer.startswith("done"):
            front.sendall(b"start\n")
            answer = answers.readline()
        assert b"WHICH DEVICE\r" in until(console, b"?")
        front.sendall(b"help\n")
        assert answers.readline().startswith("not done")
        console.sendall(b"A")
        until(console, b"A")
        front.sendall(b"power off\n")
        assert answers.readline() == "done: power off\n"
        records = [json.loads(line) for line in truth.read_text("utf-8").splitlines()]
    assert [record["what"] for record in records] == ["power", "state", "prompt", "power"]
    assert records[1]["at_us"] >= 12_000_000


def test_the_dunlin_can_be_booted_through_its_ports(tmp_path):
    with served("dunlin", tmp_path / "truth") as (console, front):
        front.sendall(b"power on\n")
        until(console, b"(hex) ")
        console.sendall(b"1F40")
        until(console, b"boot from? ")
