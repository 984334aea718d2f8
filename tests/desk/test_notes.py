"""Notes, photographs and the last minutes: kept in files beside the recording, which gets their digest."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from pathlib import Path

import pytest

from exhibit.desk import keeping
from exhibit.desk.keeping import NotKept, keep_minutes, keep_note, keep_photograph
from exhibit.desk.messages import LONGEST_PHOTOGRAPH_BYTES
from exhibit.facts import kinds
from exhibit.streams.recording import read_all
from tests.decisions.heron import MACHINE
from tests.desk.desks import Tablet, World, world

JPEG = b"\xff\xd8\xff\xe0\x00\x10JFIF" + bytes(range(256)) * 100
PNG = b"\x89PNG\r\n\x1a\n" + bytes(500)


@pytest.fixture(scope="module")
def there(tmp_path_factory: pytest.TempPathFactory) -> Iterator[World]:
    with world(tmp_path_factory.mktemp("desk")) as made:
        yield made


def photograph(tablet: Tablet, content: bytes, kind: str = "image/jpeg") -> int:
    return tablet.post("/today/note", content, {"Content-Type": kind})[0]


def kept_in(there: World) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in (there.here / "saved/notes").glob("*")}


def test_a_note_s_words_are_in_a_file_and_the_bridge_gets_its_digest(there: World) -> None:
    there.bridge.taken()
    status, answer = there.tablet("AB").post("/today/note", {"text": "  Drive 2 hums\nlouder\x1b[2J today. "})
    assert (status, answer) == (200, {"accepted": True, "why": ""})
    words = b"Drive 2 hums\nlouder[2J today."
    digest = hashlib.sha256(words).hexdigest()
    assert kept_in(there)[f"{digest}.txt"] == words
    assert [(one.request, one.by, one.why) for one in there.bridge.taken()] == [("note", "docent 1", digest)]


def test_only_its_owner_can_read_what_is_kept(there: World) -> None:
    there.tablet("AB").post("/today/note", {"text": "It smelt of warm dust."})
    folder = there.here / "saved/notes"
    assert folder.stat().st_mode & 0o777 == 0o700
    assert {path.stat().st_mode & 0o777 for path in folder.iterdir()} == {0o600}


@pytest.mark.parametrize(("content", "suffix"), [(JPEG, ".jpg"), (PNG, ".png")])
def test_a_photograph_is_kept_under_its_digest_by_what_it_begins_with(
    there: World, content: bytes, suffix: str
) -> None:
    there.bridge.taken()
    assert photograph(there.tablet("AB"), content) == 200
    digest = hashlib.sha256(content).hexdigest()
    assert kept_in(there)[f"{digest}{suffix}"] == content
    assert [one.why for one in there.bridge.taken()] == [f"photograph {digest}"]


@pytest.mark.parametrize(
    "content",
    [
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"GIF89a" + bytes(50),
        b"\xff\xd8",
        b"MZ\x90",
        b"x",
        JPEG[1:],
    ],
)
def test_what_is_no_photograph_is_not_kept_whatever_it_is_called(there: World, content: bytes) -> None:
    before = kept_in(there)
    there.bridge.taken()
    tablet = there.tablet("AB")
    assert photograph(tablet, content) == 507
    assert photograph(tablet, content, "image/png") == 507
    assert photograph(tablet, content, "image/svg+xml") == 415
    assert kept_in(there) == before
    assert there.bridge.taken() == []


def test_one_that_is_too_large_gets_a_sentence_and_is_not_kept(there: World) -> None:
    before = kept_in(there)
    tablet = there.tablet("AB")
    status, answer = tablet.post(
        "/today/note", JPEG + bytes(LONGEST_PHOTOGRAPH_BYTES), {"Content-Type": "image/jpeg"}
    )
    assert status == 413
    assert "10 MB" in answer["why"]
    assert kept_in(there) == before


def test_one_of_the_largest_size_is_kept(there: World) -> None:
    content = JPEG + bytes(LONGEST_PHOTOGRAPH_BYTES - len(JPEG))
    assert photograph(there.tablet("AB"), content) == 200
    assert f"{hashlib.sha256(content).hexdigest()}.jpg" in kept_in(there)


def test_a_note_without_words_is_refused(there: World) -> None:
    for text in ("", "  \n ", "\x00\x1b"):
        assert there.tablet("AB").post("/today/note", {"text": text})[0] == 400


def test_the_last_minutes_are_kept_in_a_file_that_can_be_read_as_a_recording(there: World) -> None:
    there.bridge.taken()
    there.happens(kinds.BytesReceived(bytes="HELLO", first_us=there.at_us))
    status, answer = there.tablet("AB").post("/today/note", {"minutes": 20})
    assert status == 200
    kept_at = Path(answer["file"])
    assert kept_at.parent == there.here / "saved"
    assert there.writer.path.read_bytes().startswith(kept_at.read_bytes()[:1000])
    assert read_all(kept_at).entries[-1].fact == kinds.BytesReceived(
        bytes="HELLO", first_us=there.at_us - 1_000_000
    )
    digest = hashlib.sha256(kept_at.read_bytes()).hexdigest()
    assert [one.why for one in there.bridge.taken()] == [f"minutes kept {digest}"]


def test_only_the_lines_of_that_span_are_kept_byte_by_byte(tmp_path: Path) -> None:
    from exhibit.streams.recording import RecordingWriter
    from tests.decisions.heron import opened

    writer = RecordingWriter(tmp_path / "recordings", opened(MACHINE, rate=2.0))
    for minute in range(120):
        at_us = minute * 60_000_000
        writer.append(kinds.BytesReceived(bytes=f"minute {minute}", first_us=at_us), at_us)
    writer.abandon()
    digest, kept_at = keep_minutes(tmp_path / "recordings", MACHINE.name, 20, tmp_path / "saved")
    assert hashlib.sha256(kept_at.read_bytes()).hexdigest() == digest
    lines, all_lines = kept_at.read_bytes().splitlines(), writer.path.read_bytes().splitlines()
    # Twice as fast, so forty of the recording's minutes.
    assert lines == [all_lines[0], *all_lines[-41:]]
    recording = read_all(kept_at)
    assert [one.why for one in recording.damages] != []
    assert len(recording.entries) >= 41


def test_nothing_is_kept_that_would_leave_too_little_for_the_recording(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(keeping, "LEFT_FREE_BYTES", 2**60)
    with pytest.raises(NotKept, match="disc full"):
        keep_note(tmp_path / "notes", "words")
    with (tmp_path / "picture").open("w+b") as file:
        file.write(JPEG)
        file.seek(0)
        with pytest.raises(NotKept, match="disc full"):
            keep_photograph(tmp_path / "notes", file, 10**6)
    assert list((tmp_path / "notes").iterdir()) == []


def test_one_that_turns_out_too_long_leaves_nothing_behind(tmp_path: Path) -> None:
    with (tmp_path / "picture").open("w+b") as file:
        file.write(JPEG)
        file.seek(0)
        with pytest.raises(NotKept, match="too long"):
            keep_photograph(tmp_path / "notes", file, len(JPEG) - 1)
    assert list((tmp_path / "notes").iterdir()) == []


def test_without_a_recording_there_are_no_minutes_to_keep(tmp_path: Path) -> None:
    with pytest.raises(NotKept, match="no recording"):
        keep_minutes(tmp_path, MACHINE.name, 20, tmp_path / "saved")


def test_a_note_is_kept_even_if_the_bridge_is_gone(tmp_path: Path) -> None:
    with world(tmp_path) as there:
        tablet = there.tablet("AB")
        there.bridge.end()
        status, answer = tablet.post("/today/note", {"text": "Everything stopped."})
        assert (status, answer["accepted"]) == (200, True)
        assert "the recording doesn't say so" in answer["why"]
        assert list(kept_in(there).values()) == [b"Everything stopped."]
