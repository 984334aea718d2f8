"""What a docent reads when the bridge can't be asked: that it isn't running only if that is so."""

from __future__ import annotations

import socket
import threading
from pathlib import Path

import pytest

from exhibit.bridge.door_note import door_noted, is_closed_to_us
from exhibit.bridge.request_door import Request
from exhibit.desk.door import MAY_STILL_STOP, NOBODY_KNOWS, PASSED_TO_NOBODY, STOPPED_ANYWAY, Door

STOP = Request(request="stop", by="docent 1")
OPEN = Request(request="open", by="docent 1")


def test_where_no_bridge_lives_nothing_is_typed_and_nothing_was_done(tmp_path: Path) -> None:
    door = Door(tmp_path, "heron")
    assert (door.ask(STOP).why, door.ask(OPEN).why) == (STOPPED_ANYWAY, PASSED_TO_NOBODY)


def test_a_bridge_that_hangs_up_without_an_answer_may_still_type(tmp_path: Path) -> None:
    """As it does with a process of another user."""
    with socket.socket(socket.AF_UNIX) as listening, door_noted(tmp_path, "heron", tmp_path / "door"):
        listening.bind(f"{tmp_path / 'door'}")
        listening.listen()

        def hang_up() -> None:
            for _ in range(2):
                caller, _ = listening.accept()
                caller.recv(4096)
                caller.close()

        threading.Thread(target=hang_up, daemon=True).start()
        door = Door(tmp_path, "heron")
        assert (door.ask(STOP).why, door.ask(OPEN).why) == (MAY_STILL_STOP, NOBODY_KNOWS)


def test_a_bridge_whose_note_this_user_can_t_read_may_still_type(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert not is_closed_to_us(tmp_path, "heron")
    (tmp_path / "door-heron.json").write_bytes(b"")
    monkeypatch.setattr("os.access", lambda path, mode: False)  # root can read whatever it is forbidden
    assert is_closed_to_us(tmp_path, "heron")
    assert Door(tmp_path, "heron").ask(STOP).why == MAY_STILL_STOP
    assert Door(tmp_path, "whimbrel").ask(STOP).why == STOPPED_ANYWAY
