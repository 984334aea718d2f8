"""Following the newest recording: what is shown while none is there, while one grows, and at its end."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import gevent
import pytest

from exhibit.decisions.page.badge import NOT_ANSWERING_AFTER_S
from exhibit.facts import kinds
from exhibit.streams.recording import RecordingWriter
from exhibit.web import following
from exhibit.web.file_growth import FolderWatch
from exhibit.web.following import Follower
from exhibit.web.picture import Ask, Picture
from tests.pages import made_facts


@pytest.fixture(autouse=True)
def _look_at_the_folder_each_time(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(following, "FOLDER_EVERY_S", 0.0)


Follow = Callable[..., Follower]


@pytest.fixture
def follow() -> Iterator[Follow]:
    """Makes followers, and closes them at the end."""
    made: list[Follower] = []

    def make(*args: object, **kwargs: object) -> Follower:
        made.append(Follower(*args, **kwargs))  # type: ignore[arg-type]
        return made[-1]

    yield make
    for follower in made:
        follower.close()


def catch_up(follower: Follower) -> None:
    while follower.step():
        pass


def begun(folder: Path, **opened: object) -> RecordingWriter:
    writer = made_facts.begin(folder, made_facts.opened(**opened))
    writer.append(kinds.LineOpened(line="x"), 0)
    return writer


def test_without_any_recording_the_page_says_not_started(tmp_path: Path, follow: Follow) -> None:
    picture = Picture("live")
    catch_up(follow(picture, tmp_path / "not there"))
    answer = picture.answer(Ask())
    assert answer["badge"]["name"] == "not started"
    assert answer["picture"]["seq"] == 0


def test_a_recording_that_comes_later_is_found_and_followed(tmp_path: Path, follow: Follow) -> None:
    picture = Picture("live")
    follower = follow(picture, tmp_path / "recordings")
    catch_up(follower)
    writer = begun(tmp_path / "recordings")
    catch_up(follower)
    assert picture.badge.name == "live"
    writer.append(kinds.BytesReceived(bytes="HELLO", first_us=1), 1)
    catch_up(follower)
    assert picture.view.text_rows()[0] == "HELLO"
    writer.close("done", 2)
    catch_up(follower)
    assert picture.badge.name == "resting"


def test_the_next_recording_is_followed_on_to(tmp_path: Path, follow: Follow) -> None:
    picture = Picture("live")
    follower = follow(picture, tmp_path)
    first = begun(tmp_path)
    catch_up(follower)
    stream = picture.stream
    first.close("midnight", 1)
    second = begun(tmp_path, wall="2026-11-26T00:00:10.000+00:00")
    catch_up(follower)
    assert picture.stream == second.path.name != stream
    assert picture.badge.name == "live"
    second.abandon()


def test_of_several_machines_only_the_chosen_one_is_followed(tmp_path: Path, follow: Follow) -> None:
    one = begun(tmp_path, machine="whimbrel")
    other = begun(tmp_path, machine="posix", wall="2026-11-25T12:00:00.000+00:00")
    picture = Picture("live")
    catch_up(follow(picture, tmp_path, "whimbrel"))
    assert picture.stream == one.path.name
    one.abandon()
    other.abandon()


def test_one_file_may_be_followed_by_its_name(tmp_path: Path, follow: Follow) -> None:
    one = begun(tmp_path)
    other = begun(tmp_path, wall="2026-11-25T12:00:00.000+00:00")
    picture = Picture("live")
    catch_up(follow(picture, one.path))
    assert picture.stream == one.path.name
    one.abandon()
    other.abandon()


def test_a_writer_that_ended_without_closing_is_seen(tmp_path: Path, follow: Follow) -> None:
    picture = Picture("live")
    follower = follow(picture, tmp_path)
    writer = begun(tmp_path)
    catch_up(follower)
    writer.abandon()
    catch_up(follower)
    assert picture.badge.name == "bridge gone"


def test_a_writer_that_stood_still_before_we_came_is_seen_at_once(tmp_path: Path, follow: Follow) -> None:
    writer = begun(tmp_path)
    long_ago = time.time() - 3600
    os.utime(writer.path, (long_ago, long_ago))
    picture = Picture("live")
    catch_up(follow(picture, tmp_path))
    assert picture.badge.name == "bridge not answering"
    writer.abandon()


def test_a_silent_writer_is_no_longer_answering_and_one_heartbeat_mends_it(
    tmp_path: Path, follow: Follow
) -> None:
    writer = begun(tmp_path)
    picture = Picture("live")
    now_s = [1000.0]
    follower = follow(picture, tmp_path, steady_s=lambda: now_s[0])
    catch_up(follower)
    now_s[0] += NOT_ANSWERING_AFTER_S + 0.5
    catch_up(follower)
    assert picture.badge.name == "bridge not answering"
    writer.append(kinds.Heartbeat(wall=made_facts.WALL), 1)
    catch_up(follower)
    assert picture.badge.name == "live"
    writer.abandon()


def test_a_long_recording_is_read_in_short_turns_and_not_shown_before_its_end(
    tmp_path: Path, follow: Follow
) -> None:
    writer = begun(tmp_path)
    for number in range(3 * following.AT_ONCE):
        writer.append(kinds.BytesReceived(bytes="X", first_us=number), number)
    picture = Picture("live")
    follower = follow(picture, tmp_path)
    turns = 0
    while follower.step():
        turns += 1
        assert picture.badge.name == "reading the record"
    assert turns >= 3
    assert picture.badge.name == "live"
    writer.abandon()


def test_a_recording_that_was_cut_is_complained_of_once_and_read_again(
    tmp_path: Path, follow: Follow
) -> None:
    writer = begun(tmp_path)
    for number in range(50):
        writer.append(kinds.BytesReceived(bytes="X", first_us=number), number)
    said: list[str] = []
    picture = Picture("live")
    follower = follow(picture, tmp_path, complain=said.append)
    catch_up(follower)
    writer.abandon()
    os.truncate(writer.path, writer.path.stat().st_size - 500)
    catch_up(follower)
    assert len(said) == 1
    assert "shorter" in said[0]
    for _ in range(3):
        catch_up(follower)
    assert len(said) == 1
    assert picture.badge.name == "bridge gone"


def test_what_is_no_recording_does_not_stop_the_page(tmp_path: Path, follow: Follow) -> None:
    (tmp_path / "broken.exhibit").write_bytes(b"\x00\xff not a recording\n")
    picture = Picture("live")
    follower = follow(picture, tmp_path)
    catch_up(follower)
    assert picture.badge.name == "not started"
    writer = begun(tmp_path)
    catch_up(follower)
    assert picture.badge.name == "live"
    writer.abandon()


def test_the_kernel_tells_of_a_written_file(tmp_path: Path) -> None:
    watch = FolderWatch(tmp_path)
    assert watch.tells
    file = (tmp_path / "x").open("wb", buffering=0)
    watch.wait(0.5)
    woken = gevent.spawn(watch.wait, 600)
    gevent.sleep(0)
    file.write(b"x")
    woken.join(60)
    assert woken.ready()
    file.close()
    watch.close()


def test_a_wait_without_any_change_ends_at_its_limit(tmp_path: Path) -> None:
    watch = FolderWatch(tmp_path)
    waited = gevent.spawn(watch.wait, 0.05)
    waited.join(60)
    assert waited.ready()
    watch.close()


def test_a_folder_that_the_kernel_cannot_watch_is_looked_at_instead(tmp_path: Path) -> None:
    watch = FolderWatch(tmp_path / "not there")
    assert not watch.tells
    waited = gevent.spawn(watch.wait, 600)
    waited.join(60)
    assert waited.ready()
