"""Files that aren't what they seem: pipes, devices, links that lead outside, and files without an end.

None of them keeps a command waiting, takes its memory, or gets to the page. Each is refused in three
sentences with exit status 2, or read as far as something in it can be read.
"""

from __future__ import annotations

import os
import resource
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from exhibit.commands.cli import main
from exhibit.facts.errors import SetUpFault
from exhibit.folder.files import LARGEST_BYTES, MOST_FILES, read_files, read_other_files
from exhibit.streams.recording import RecordingFolder
from exhibit.web.following import Follower
from exhibit.web.picture import Picture
from tests.strangers.limits_of_trials import MOST_BYTES, watched, what_goes_wrong
from tests.strangers.mutated_folders import write_folder
from tests.strangers.mutated_recordings import ROOT, SAMPLE, mutated
from tests.strangers.read_everywhere import prepare, ways
from tests.streams.samples import a_recording, some_facts

HERON = ROOT / "scripts" / "heron"
SPARSE_BYTES = 20_000_000_000
LONG_S = 60


def pipe(path: Path) -> None:
    os.mkfifo(path)


def device(path: Path) -> None:
    path.symlink_to("/dev/zero")


def unix_socket(path: Path) -> None:
    # A socket's whole name is short (unix(7)), and a test's folder isn't.
    here = os.open(path.parent, os.O_RDONLY)
    listener = socket.socket(socket.AF_UNIX)
    listener.bind(f"/proc/self/fd/{here}/{path.name}")
    listener.close()
    os.close(here)


def directory(path: Path) -> None:
    path.mkdir()


def empty(path: Path) -> None:
    path.touch()


def zeros(path: Path) -> None:
    path.touch()
    os.truncate(path, SPARSE_BYTES)


def one_line(path: Path) -> None:
    path.write_bytes(b'{"seq":1,' + b"x" * 40_000_000)


def whole_and_then_zeros(path: Path) -> None:
    path.write_bytes(b"".join(SAMPLE.read_bytes().splitlines(keepends=True)[:300]))
    os.truncate(path, SPARSE_BYTES)


def whole_and_then_one_line(path: Path) -> None:
    whole = b"".join(SAMPLE.read_bytes().splitlines(keepends=True)[:300])
    path.write_bytes(whole + b"x" * 40_000_000)


REFUSED = [pipe, device, unix_socket, directory, empty, zeros, one_line]
READ = [whole_and_then_zeros, whole_and_then_one_line]


@pytest.fixture(scope="module", autouse=True)
def _prepared() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patched:
        prepare(patched)
        yield


def refused_in_three_sentences(done: Result) -> None:
    assert done.exit_code == 2, done.output
    assert not done.exception or isinstance(done.exception, SystemExit)
    lines = done.output.strip().splitlines()
    if not lines[0].startswith("Usage:"):  # a directory isn't even a file
        assert len(lines) == 3, done.output


@pytest.mark.parametrize("make", REFUSED, ids=lambda make: make.__name__)
@pytest.mark.parametrize("command", ["text", "captions", "replay", "timings", "rehearse"])
def test_as_a_recording_it_is_refused(tmp_path: Path, command: str, make: Callable[[Path], None]) -> None:
    path = tmp_path / "stranger.exhibit"
    make(path)
    before = (f"{HERON}",) if command in ("timings", "rehearse") else ()
    after = ("--no-browser", "--port", "0") if command == "replay" else ()
    with watched():
        refused_in_three_sentences(CliRunner().invoke(main, [command, *before, f"{path}", *after]))


@pytest.mark.parametrize("make", READ, ids=lambda make: make.__name__)
def test_what_is_whole_is_read_and_nothing_is_looked_for_without_end(
    tmp_path: Path, make: Callable[[Path], None]
) -> None:
    (tmp_path / "r").mkdir()
    path = tmp_path / "r" / "stranger.exhibit"
    make(path)
    for name, do in ways(path, tmp_path / "cache", 1).items():
        # Three times a second: these read 16 million bytes that aren't a recording, some of them twice.
        assert what_goes_wrong(do, 3.0) == "", name


@pytest.mark.parametrize("make", [*REFUSED, *READ], ids=lambda make: make.__name__)
def test_put_into_the_folder_of_a_page_it_changes_nothing(
    tmp_path: Path, make: Callable[[Path], None]
) -> None:
    """The page goes on showing what it showed, and never waits."""
    good = a_recording(tmp_path, some_facts(20))
    picture = Picture("live")
    follower = Follower(picture, tmp_path)
    while follower.step():
        pass
    stream, seq = picture.stream, picture.view.seq
    assert stream == good.name
    make(tmp_path / "z-stranger.exhibit")
    os.utime(tmp_path)
    with watched(3.0):
        for _ in range(20):
            follower.step()
    follower.close()
    if make in READ:  # it is the newest recording, and is shown as far as it can be read
        assert picture.view.seq == 300
    else:
        assert (picture.stream, picture.view.seq) == (stream, seq)


def test_a_link_in_the_folder_of_recordings_is_not_followed(tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    recordings = tmp_path / "recordings"
    elsewhere.mkdir()
    recordings.mkdir()
    (recordings / "link.exhibit").symlink_to(a_recording(elsewhere, 5))
    assert RecordingFolder(recordings).recordings() == []


def test_a_recording_that_grows_without_a_line_end_costs_little(tmp_path: Path) -> None:
    path = a_recording(tmp_path, some_facts(5))
    picture = Picture("live")
    follower = Follower(picture, tmp_path)
    while follower.step():
        pass
    with path.open("ab") as file, watched(3.0):
        for _ in range(60):
            file.write(b"x" * 500_000)
            file.flush()
            follower.step()
    follower.close()
    assert picture.view.seq == 7


def test_a_recording_with_a_fault_is_not_read_again_and_again(tmp_path: Path) -> None:
    """The page looks four times a second. A fault at the end of a long file would keep it busy for ever."""
    content, _ = mutated(0)
    from tests.strangers.mutated_recordings import _round, written

    opened, *others = _round()[:200]
    path = tmp_path / "stranger.exhibit"
    path.write_bytes(written([opened, *others, {**opened, "rate": 1e300}]))
    follower = Follower(Picture("live"), tmp_path)
    with watched():
        for _ in range(500):
            follower.step()
    begun = follower._follower.count
    follower.close()
    assert begun == 2


# -- a machine's folder


def link_to_a_file(path: Path) -> None:
    path.symlink_to("/etc/hostname" if Path("/etc/hostname").exists() else "/etc/passwd")


def link_in_a_circle(path: Path) -> None:
    path.symlink_to(path)


def too_large(path: Path) -> None:
    path.write_bytes(b"#" * (LARGEST_BYTES + 1))


NOT_READ = [pipe, device, unix_socket, zeros, link_to_a_file, link_in_a_circle, too_large]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    place = tmp_path / "stranger"
    place.mkdir()
    files = [path for path in HERON.rglob("*") if path.is_file()]
    write_folder(place, {path.relative_to(HERON).as_posix(): path.read_bytes() for path in files})
    for name in ("background/en", "pictures"):
        (place / name).mkdir(parents=True, exist_ok=True)
    return place


@pytest.mark.parametrize("make", NOT_READ, ids=lambda make: make.__name__)
@pytest.mark.parametrize("name", ["round.toml", "captions/en.toml", "background/en/x.md", "pictures/x.svg"])
def test_in_a_machines_folder_it_is_refused(folder: Path, name: str, make: Callable[[Path], None]) -> None:
    if make is too_large and name.startswith("pictures/"):
        pytest.skip("a picture can be larger")
    (folder / name).unlink(missing_ok=True)
    make(folder / name)
    with watched():
        refused_in_three_sentences(CliRunner().invoke(main, ["check", f"{folder}"]))


def test_a_link_inside_the_folder_is_read(folder: Path) -> None:
    (folder / "captions/de.toml").unlink(missing_ok=True)
    (folder / "captions/de.toml").symlink_to("en.toml")
    assert read_files(folder)["captions/de.toml"] == read_files(folder)["captions/en.toml"]


def test_so_many_files_are_refused(folder: Path) -> None:
    for number in range(MOST_FILES + 1):
        (folder / "pictures" / f"p{number}.svg").touch()
    with pytest.raises(SetUpFault, match=f"{MOST_FILES + 1} files"):
        read_other_files(folder)


def test_a_folder_of_everything_is_not_walked_through(folder: Path) -> None:
    """`exhibit check /` would look for files that nothing reads on the whole disc."""
    deep = folder
    for number in range(300):
        deep = deep / f"d{number % 7}"
    (folder / "loop").symlink_to("/")
    with watched():
        CliRunner().invoke(main, ["check", f"{folder}"])


# -- as commands, with little memory


def with_little_memory() -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))


@pytest.mark.parametrize(
    ("command", "make"),
    [
        (("text",), device),
        (("captions",), whole_and_then_zeros),
        (("rehearse", f"{HERON}"), one_line),
        (("timings", f"{HERON}"), whole_and_then_one_line),
    ],
    ids=lambda given: given[0] if isinstance(given, tuple) else given.__name__,
)
def test_a_command_needs_less_than_500_million_bytes(
    tmp_path: Path, command: tuple[str, ...], make: Callable[[Path], None]
) -> None:
    path = tmp_path / "stranger.exhibit"
    make(path)
    done = subprocess.run(
        [sys.executable, "-m", "exhibit", *command, f"{path}"],
        capture_output=True,
        text=True,
        timeout=LONG_S,
        preexec_fn=with_little_memory,
    )
    assert done.returncode in (0, 1, 2)
    assert "Traceback" not in done.stderr
    assert "MemoryError" not in done.stderr


@pytest.mark.parametrize("rate", ["0", "1e9", "nan", "0.001"])
def test_no_recording_is_played_at_such_a_rate(rate: str) -> None:
    refused_in_three_sentences(CliRunner().invoke(main, ["replay", f"{SAMPLE}", "--rate", rate]))
