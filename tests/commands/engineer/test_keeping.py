"""The commands that keep recordings: what they print, and their exit status."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from exhibit.commands.cli import main
from exhibit.streams.compressed.compressing import compress
from tests.records.keeping.days import a_day
from tests.streams.samples import a_recording

ROOT = Path(__file__).resolve().parents[3]
SAMPLE = ROOT / "recordings" / "whimbrel-one-round.exhibit"


@pytest.fixture
def path(tmp_path) -> Path:
    return a_recording(tmp_path, 40)


def exhibit(*arguments: object) -> Result:
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


def test_verify_says_a_line_a_file_and_ends_with_0(path):
    done = exhibit("verify", path.parent)
    assert done.exit_code == 0
    assert done.output.splitlines() == [f"{path.name}: in order; 42 facts"]


def test_verify_ends_with_2_and_says_what_to_do_if_something_is_damaged_and_mend_does_it(path):
    content = path.read_bytes()
    path.write_bytes(content[:-40])
    done = exhibit("verify", path)
    assert done.exit_code == 2
    assert "exhibit mend FILE" in done.output
    done = exhibit("mend", path)
    assert done.exit_code == 0, done.output
    new = path.parent / "mended" / path.name
    assert f"{new} has 41 facts of {path.name}" in done.output
    assert "Missing at the end, byte " in done.output
    assert exhibit("verify", new).exit_code == 0
    assert path.read_bytes() == content[:-40]


def test_mend_of_one_in_order_is_refused(path):
    done = exhibit("mend", path)
    assert done.exit_code == 2
    assert "is in order" in done.output


def days(folder: Path) -> tuple[Path, Path]:
    """A recording of a closed day, and the newest one."""
    return a_day(folder, "2026-10-01"), a_day(folder, "2026-10-02")


def test_compress_first_says_what_it_would_do_and_now_does_it(tmp_path):
    first, newest = days(tmp_path)
    said = exhibit("compress", tmp_path).output
    assert f"{first.name}: {first.stat().st_size:,} bytes would be compressed." in said
    assert f"{newest.name}: stays as it is" in said
    assert "Nothing was changed. With --now it is done." in said
    assert first.exists()
    done = exhibit("compress", tmp_path, "--now")
    assert done.exit_code == 0
    assert "read back, and the same" in done.output
    assert not first.exists()
    assert exhibit("compress", tmp_path).output.splitlines()[-1] == "There is nothing to compress."


@pytest.mark.parametrize("command", ["text", "captions", "summary", "verify", "timings"])
def test_every_command_says_the_same_of_a_compressed_recording(tmp_path, command):
    (tmp_path / "plain").mkdir()
    (tmp_path / "packed").mkdir()
    plain = tmp_path / "plain" / SAMPLE.name
    shutil.copyfile(SAMPLE, plain)
    packed = tmp_path / "packed" / f"{SAMPLE.name}.zst"
    with plain.open("rb") as file:
        compress(file, packed)
    folder = [ROOT / "scripts" / "whimbrel"] if command == "timings" else []
    said, same = (exhibit(command, *folder, path) for path in (plain, packed))
    assert said.exit_code == same.exit_code == 0, same.output
    assert said.output
    assert same.output.replace(f"{SAMPLE.name}.zst", SAMPLE.name).replace("packed", "plain") == said.output
    if command in ("summary", "verify", "timings"):
        in_folder = exhibit(command, *folder, packed.parent)
        assert in_folder.output.replace(f"{SAMPLE.name}.zst", SAMPLE.name) == said.output


def test_copy_proves_arrival_and_takes_along_what_was_written_down(tmp_path):
    recordings, place = tmp_path / "recordings", tmp_path / "second"
    first, _ = days(recordings)
    written = a_day(recordings / "work", "2026-10-02", count=1)
    place.mkdir()
    done = exhibit("copy", recordings, "--to", place)
    assert done.exit_code == 0, done.output
    assert f"{first.name}: copied, and read back" in done.output
    assert (place / "work" / written.name).exists()
    assert exhibit("copy", "--to", place, "--check").exit_code == 0
    (place / first.name).write_bytes(b"")
    done = exhibit("copy", "--to", place, "--check")
    assert done.exit_code == 2
    assert f"{first.name}: not as it arrived" in done.output
    assert exhibit("copy", "--to", place).exit_code == 2


@pytest.fixture
def folder(tmp_path) -> Path:
    """The demonstration's folder, which keeps recordings for 30 days."""
    place = tmp_path / "whimbrel"
    shutil.copytree(ROOT / "scripts" / "whimbrel", place)
    with (place / "day.toml").open("a") as file:
        file.write('\n[recordings]\nkeep = "30 days"\n')
    return place


def test_discard_first_says_what_it_would_remove_and_now_removes_it(tmp_path, folder):
    recordings = tmp_path / "recordings"
    first, _ = days(recordings)
    said = exhibit("discard", folder, "--recordings", recordings).output
    assert "2026-10-01: 1 of whimbrel, " in said
    assert "would be removed." in said
    assert "2026-10-02: 1 of whimbrel, " in said
    assert "kept, since it holds the newest recording" in said
    assert first.exists()
    done = exhibit("discard", folder, "--recordings", recordings, "--now")
    assert done.exit_code == 0, done.output
    assert not first.exists()
    assert (recordings / "discarded.jsonl").exists()


def test_without_a_rule_nothing_can_be_discarded(tmp_path):
    days(tmp_path)
    done = exhibit("discard", ROOT / "scripts" / "whimbrel", "--recordings", tmp_path, "--now")
    assert done.exit_code == 2
    assert "kept for good" in done.output
    assert 'keep = "400 days"' in done.output
