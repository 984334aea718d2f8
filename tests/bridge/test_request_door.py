"""The socket for people's requests: bounded, for the same user only, and never a delay for the bridge."""

from __future__ import annotations

import os
import socket
import subprocess
import threading
from contextlib import suppress
from pathlib import Path

import pytest

from exhibit.bridge import request_door as requests
from exhibit.bridge.request_door import LONGEST_REQUEST_BYTES, Answer, Request, RequestDoor, ask
from exhibit.facts.errors import SetUpFault

STOP = Request(request="stop", by="a docent")
ACCEPTED = Answer(accepted=True)
LONG_S = 60.0
"""Longer than anything here takes, unless the computer stalls."""


class Bridge:
    """Gives this answer to every request; `asked` are the requests that it got."""

    def __init__(self, answer: Answer | None = ACCEPTED) -> None:
        self.asked: list[Request] = []
        self.answer = answer

    def __call__(self, request, reply) -> None:
        self.asked.append(request)
        if self.answer is not None:
            reply(self.answer)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "door"


@pytest.fixture
def bridge() -> Bridge:
    return Bridge()


@pytest.fixture
def door(path, bridge):
    opened = RequestDoor(path, bridge)
    yield opened
    opened.close()


def say(path: Path, said: bytes, *, end: bool = False) -> bytes:
    """Sends this to the door. Returns the answer."""
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as caller:
        caller.settimeout(LONG_S)
        caller.connect(os.fspath(path))
        # A stranger may be turned away before it has said anything.
        with suppress(BrokenPipeError):
            caller.sendall(said)
            if end:
                caller.shutdown(socket.SHUT_WR)
        with caller.makefile("rb") as answer:
            try:
                return answer.readline()
            except ConnectionResetError:  # closed without reading what was sent
                return b""


def refused(answer: bytes) -> bool:
    return answer == b'{"accepted":false,"why":"the bridge does not know this request"}\n'


def test_a_request_is_handed_on_and_answered(door, path, bridge):
    request = Request(request="confirm", by="a docent", step="turn-the-key", why="done")
    assert ask(path, request) == ACCEPTED
    assert bridge.asked == [request]


def test_a_refusal_says_why(door, path, bridge):
    bridge.answer = Answer(accepted=False, why="nobody is being asked")
    assert ask(path, STOP) == bridge.answer


def test_a_stop_doesn_t_wait_until_another_request_is_answered(path):
    asked, unanswered = [], threading.Event()

    def deliver(request, reply) -> None:
        asked.append(request)
        if request.request == "here":
            unanswered.set()
        else:
            reply(ACCEPTED)

    door = RequestDoor(path, deliver)
    slow = threading.Thread(target=lambda: ask(path, Request(request="here", by="x")), daemon=True)
    slow.start()
    assert unanswered.wait(LONG_S)
    assert ask(path, STOP) == ACCEPTED
    assert slow.is_alive()
    door.close()


def test_requests_come_one_after_the_other_from_any_number_of_callers(door, path, bridge):
    answers = []
    threads = [threading.Thread(target=lambda: answers.append(ask(path, STOP))) for _ in range(20)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(LONG_S)
    assert answers == [ACCEPTED] * 20
    assert len(bridge.asked) == 20


@pytest.mark.parametrize(
    "said",
    [
        b"\n",
        b"stop\n",
        b'{"request":"stop"}\n',
        b'{"request":"press","by":"x"}\n',
        b'{"request":"stop","by":7}\n',
        b'{"request":"stop","by":"x"\n',
        b'{"request":"stop","by":"\\ud800"}\n',
        b'{"request":"stop","by":"\xff"}\n',
        b"[" * 4000 + b"\n",
        b"\x00\n",
    ],
)
def test_what_is_no_request_is_refused_and_not_handed_on(door, path, bridge, said):
    assert refused(say(path, said))
    assert bridge.asked == []
    assert ask(path, STOP) == ACCEPTED


def test_a_request_that_is_too_long_is_refused_at_its_limit(door, path, bridge):
    fits = LONGEST_REQUEST_BYTES - len(b'{"request":"stop","by":""}\n')
    assert say(path, b'{"request":"stop","by":"%b"}\n' % (b"x" * fits)) == b'{"accepted":true,"why":""}\n'
    assert len(bridge.asked) == 1
    assert refused(say(path, b'{"request":"stop","by":"%b"}\n' % (b"x" * (fits + 1))))
    assert len(bridge.asked) == 1


def test_a_request_without_its_end_is_refused_when_the_caller_goes(door, path, bridge):
    assert refused(say(path, b'{"request":"stop","by":"x"}', end=True))
    assert bridge.asked == []


def test_a_caller_who_says_nothing_doesnt_keep_the_next_waiting_for_long(door, path, bridge, monkeypatch):
    monkeypatch.setattr(requests, "RECEIVE_WITHIN_S", 0.05)
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as silent:
        silent.connect(os.fspath(path))
        assert ask(path, STOP) == ACCEPTED


def test_a_caller_who_goes_before_the_answer_harms_nobody(door, path, bridge):
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as caller:
        caller.connect(os.fspath(path))
        caller.sendall(b'{"request":"stop","by":"x"}\n')
    assert ask(path, STOP) == ACCEPTED


def test_a_stranger_gets_no_answer_and_is_only_counted(door, path, bridge, monkeypatch):
    user = os.getuid()
    monkeypatch.setattr(os, "getuid", lambda: user + 1)
    assert say(path, b'{"request":"stop","by":"x"}\n') == b""
    monkeypatch.undo()
    assert bridge.asked == []
    assert door.strangers == 1
    assert ask(path, STOP) == ACCEPTED


def test_only_its_owner_may_use_the_socket(door, path):
    assert path.stat().st_mode & 0o777 == 0o600


def test_if_the_bridge_doesnt_answer_the_answer_says_so(door, path, bridge, monkeypatch):
    monkeypatch.setattr(requests, "ANSWER_WITHIN_S", 0.05)
    bridge.answer = None
    assert ask(path, STOP) == Answer(accepted=False, why="the bridge did not answer")


def test_without_a_bridge_there_is_nobody_to_ask(path):
    assert ask(path, STOP) == Answer(accepted=False, why="the bridge is not running")


def test_closing_the_door_removes_the_socket_and_ends_its_thread(path, bridge):
    door = RequestDoor(path, bridge)
    door.close()
    assert not path.exists()
    assert [thread for thread in threading.enumerate() if thread.name == "requests"] == []
    assert ask(path, STOP).why == "the bridge is not running"


def test_the_door_of_a_bridge_that_was_killed_is_made_again(path, bridge):
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as left_over:
        left_over.bind(os.fspath(path))
    assert path.is_socket()
    door = RequestDoor(path, bridge)
    assert ask(path, STOP) == ACCEPTED
    door.close()


def test_the_socket_of_a_running_bridge_is_not_taken_over(door, path, bridge):
    with pytest.raises(SetUpFault, match="in use"):
        RequestDoor(path, Bridge(Answer(accepted=False)))
    assert ask(path, STOP) == ACCEPTED


def test_a_file_that_is_not_a_socket_is_left_alone(path, bridge):
    path.write_text("a letter")
    with pytest.raises(SetUpFault):
        RequestDoor(path, bridge)
    assert path.read_text() == "a letter"


@pytest.mark.parametrize("name", ["no/such/folder/door", "x" * 200])
def test_a_socket_that_cant_be_created_is_explained_in_a_sentence(tmp_path, bridge, name):
    with pytest.raises(SetUpFault) as fault:
        RequestDoor(tmp_path / name, bridge)
    assert "None" not in fault.value.what
    assert fault.value.do


# -- a door for a group, as under a service manager


@pytest.fixture
def shared(tmp_path: Path) -> Path:
    """A folder that passes its group on."""
    folder = tmp_path / "shared"
    folder.mkdir()
    folder.chmod(0o2755)
    return folder


def test_in_a_folder_that_passes_its_group_on_that_group_can_use_the_socket_too(shared, bridge):
    opened = RequestDoor(shared / "door", bridge)
    assert (shared / "door").stat().st_mode & 0o777 == 0o660
    assert (shared / "door").stat().st_gid == shared.stat().st_gid
    opened.close()


@pytest.mark.parametrize(("group", "answered"), [(54321, True), (54322, False)])
def test_another_user_is_answered_only_with_that_group(needs, shared, bridge, group, answered):
    needs.that(os.geteuid() == 0, "root: to ask as other users")
    shared.parent.chmod(0o755)
    os.chown(shared, 0, 54321)
    shared.chmod(0o2755)
    opened = RequestDoor(shared / "door", bridge)
    # Even if somebody opens the socket to all.
    (shared / "door").chmod(0o666)
    code = (
        "import socket; s = socket.socket(socket.AF_UNIX); s.connect('door');"
        's.sendall(b\'{"request":"stop","by":"x"}\\n\'); print(s.recv(4096).decode())'
    )
    asked = subprocess.run(
        ["/usr/bin/python3", "-c", code],
        cwd=shared,
        user=54321,
        group=group,
        extra_groups=[],
        capture_output=True,
        text=True,
    )
    opened.close()
    assert ("true" in asked.stdout) is answered, asked.stderr
    assert bool(bridge.asked) is answered
    assert opened.strangers == (not answered)
