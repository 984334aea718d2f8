"""Following the newest recording: what is shown while there is none, while it grows, and at its end."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import gevent
import pytest

from exhibit.decisions.page.badge import NOT_ANSWERING_AFTER_S
from exhibit.decisions.page.views import VIEW_VERSION, View
from exhibit.facts import kinds
from exhibit.streams.keyframes import LastKeyframe
from exhibit.streams.recording import RecordingWriter
from exhibit.streams.recording_files import FIRST_LINES_AT_ONCE
from exhibit.web import following
from exhibit.web.file_growth import FolderWatch
from exhibit.web.following import Follower
from exhibit.web.picture import Ask, Picture
from tests.pages import made_facts
from tests.web.file_work import FileWork, many

Follow = Callable[..., Follower]
MANY = 120


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
    assert answer["badge"]["name"] == "not started today"
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


def test_when_a_recording_ends_the_next_one_is_followed(tmp_path: Path, follow: Follow) -> None:
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


def test_a_writer_that_had_already_stopped_is_noticed_at_once(tmp_path: Path, follow: Follow) -> None:
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


def test_a_recording_that_was_cut_is_reported_once_and_read_again(tmp_path: Path, follow: Follow) -> None:
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


def test_a_recording_that_another_one_takes_the_place_of_is_read_from_its_start(
    tmp_path: Path, follow: Follow
) -> None:
    """For example by a copy that is made again and again from another computer."""
    writer = begun(tmp_path / "there")
    copy = tmp_path / "here" / writer.path.name
    copy.parent.mkdir()
    picture = Picture("live")
    follower = follow(picture, copy.parent)
    answers = []
    for number, letter in enumerate("XYZ"):
        for _ in range(10):
            writer.append(kinds.BytesReceived(bytes=letter, first_us=number), number)
        (tmp_path / "copy").write_bytes(writer.path.read_bytes())
        (tmp_path / "copy").replace(copy)
        catch_up(follower)
        answers.append(picture.answer(Ask(stream=picture.stream)))
        assert picture.view.seq == 2 + 10 * (number + 1)
        assert picture.view.text_rows()[0] == "".join(10 * letter for letter in "XYZ"[: number + 1])
    # A page that showed the old one must start again: nobody knows whether the new one begins the same way.
    assert len({answer["stream"] for answer in answers}) == 3
    writer.abandon()


def test_one_file_that_is_followed_by_its_name_may_be_replaced_too(tmp_path: Path, follow: Follow) -> None:
    one = begun(tmp_path)
    picture = Picture("live")
    follower = follow(picture, one.path)
    catch_up(follower)
    other = begun(tmp_path / "apart")
    other.append(kinds.BytesReceived(bytes="HELLO", first_us=1), 1)
    other.path.replace(one.path)
    catch_up(follower)
    assert picture.view.text_rows()[0] == "HELLO"
    one.abandon()
    other.abandon()


def test_a_recording_that_is_taken_away_while_it_is_followed_by_its_name_stays(
    tmp_path: Path, follow: Follow
) -> None:
    one = begun(tmp_path)
    picture = Picture("live")
    follower = follow(picture, one.path)
    catch_up(follower)
    one.path.unlink()
    one.append(kinds.BytesReceived(bytes="HELLO", first_us=1), 1)
    catch_up(follower)
    assert (picture.badge.name, picture.view.text_rows()[0]) == ("live", "HELLO")
    one.abandon()


def test_no_step_waits_for_many_recordings(
    tmp_path: Path, follow: Follow, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is done between two turns of the pages doesn't grow with the number of recordings."""
    many(tmp_path, MANY)
    picture = Picture("live")
    follower = follow(picture, tmp_path)
    work = FileWork(monkeypatch)
    turns = [work.of(follower.step) for _ in range(MANY)]
    assert max(listed for listed, _ in turns) <= 1
    assert max(read for _, read in turns) <= FIRST_LINES_AT_ONCE
    assert sum(read for _, read in turns) == MANY
    assert picture.badge.name == "bridge gone"


def test_while_many_recordings_are_looked_through_nothing_untrue_is_shown(
    tmp_path: Path, follow: Follow
) -> None:
    many(tmp_path, MANY)
    newest = begun(tmp_path)
    picture = Picture("live")
    follower = follow(picture, tmp_path)
    while follower.step():
        assert picture.badge.name == "reading the record"
    assert (picture.stream, picture.badge.name) == (newest.path.name, "live")
    newest.abandon()


def test_the_folder_is_listed_only_once_for_each_new_recording(
    tmp_path: Path, follow: Follow, monkeypatch: pytest.MonkeyPatch
) -> None:
    many(tmp_path, MANY)
    writer = begun(tmp_path)
    picture = Picture("live")
    follower = follow(picture, tmp_path)
    catch_up(follower)
    an_hour_ago = time.time() - 3600
    os.utime(tmp_path, (an_hour_ago, an_hour_ago))
    work = FileWork(monkeypatch)
    assert work.of(follower.step) == (1, 0)
    for number in range(50):
        writer.append(kinds.BytesReceived(bytes="X", first_us=number), number)
        assert work.of(follower.step) == (0, 0)
        assert work.of(follower.step) == (0, 0)
    writer.close("midnight", 100)
    writer = begun(tmp_path, wall="2026-11-26T00:00:10.000+00:00")
    assert work.of(lambda: catch_up(follower)) == (1, 1)
    assert picture.stream == writer.path.name
    writer.abandon()


def test_a_folder_that_cannot_be_read_is_reported_and_the_recording_is_still_followed(
    tmp_path: Path, follow: Follow, monkeypatch: pytest.MonkeyPatch
) -> None:
    writer = begun(tmp_path)
    said: list[str] = []
    picture = Picture("live")
    follower = follow(picture, tmp_path, complain=said.append)
    catch_up(follower)

    def refuse(path: Path) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(os, "scandir", refuse)
    os.utime(tmp_path)
    for number in range(3):
        catch_up(follower)
        writer.append(kinds.BytesReceived(bytes="X", first_us=number), number)
    catch_up(follower)
    assert picture.view.text_rows()[0] == "XXX"
    assert len(said) == 1
    assert "can't be read" in said[0]
    writer.abandon()


def test_a_file_that_is_not_a_recording_does_not_stop_the_page(tmp_path: Path, follow: Follow) -> None:
    (tmp_path / "broken.exhibit").write_bytes(b"\x00\xff not a recording\n")
    picture = Picture("live")
    follower = follow(picture, tmp_path)
    catch_up(follower)
    assert picture.badge.name == "not started today"
    writer = begun(tmp_path)
    catch_up(follower)
    assert picture.badge.name == "live"
    writer.abandon()


def test_the_kernel_reports_a_written_file(tmp_path: Path) -> None:
    watch = FolderWatch(tmp_path)
    assert watch.uses_kernel
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
    assert not watch.uses_kernel
    waited = gevent.spawn(watch.wait, 600)
    waited.join(60)
    assert waited.ready()


DAY_S = 24 * 3600


@pytest.mark.parametrize("closed", [True, False], ids=["closed", "broken off"])
def test_what_was_last_written_on_an_earlier_day_is_not_started_today(
    closed: bool, tmp_path: Path, follow: Follow
) -> None:
    writer = begun(tmp_path)
    if closed:
        writer.close("done", 1)
    else:
        writer.abandon()
    for days, name in ((0, "resting" if closed else "bridge gone"), (1, "not started today")):
        picture = Picture("live")
        catch_up(follow(picture, tmp_path, now_s=lambda days=days: time.time() + days * DAY_S))
        assert picture.badge.name == name
    assert picture.badge.since.startswith("2026-11-25")


def test_a_page_that_stays_open_over_midnight_says_so_by_itself(tmp_path: Path, follow: Follow) -> None:
    begun(tmp_path).close("done", 1)
    later_s = 0.0
    picture = Picture("live")
    follower = follow(picture, tmp_path, now_s=lambda: time.time() + later_s)
    catch_up(follower)
    assert picture.badge.name == "resting"
    later_s = DAY_S
    catch_up(follower)
    assert picture.badge.name == "not started today"


# -- begun late in the day


class Counted(View):
    """A view that counts what it took in, over all of its kind."""

    applied = 0

    def apply(self, entry: kinds.Entry) -> None:
        Counted.applied += 1
        super().apply(entry)


def late(follow: Follow, folder: Path, cache: Path) -> Picture:
    """A page whose process was started just now, and has caught up."""
    Counted.applied = 0
    picture = Picture("live")
    catch_up(follow(picture, folder, kept=LastKeyframe(Counted, VIEW_VERSION, cache)))
    return picture


def a_day_so_far(folder: Path, **opened: object) -> RecordingWriter:
    writer = made_facts.begin(folder, made_facts.opened(**opened))
    for at_s, fact in made_facts.a_day():
        writer.append(fact, int(at_s * 1e6))
    return writer


def test_a_page_begun_late_in_the_day_reads_only_what_is_new_and_shows_the_same(
    tmp_path: Path, follow: Follow
) -> None:
    folder, cache = tmp_path / "recordings", tmp_path / "cache"
    writer = a_day_so_far(folder)
    Counted.applied = 0
    before = follow(Picture("live"), folder, kept=LastKeyframe(Counted, VIEW_VERSION, cache))
    catch_up(before)
    whole = Counted.applied
    before.close()
    writer.append(kinds.BytesReceived(bytes="AND NOW\r\n", first_us=10**9), 10**9)
    picture = late(follow, folder, cache)
    assert Counted.applied == 1 < whole
    plain = Picture("live")
    catch_up(follow(plain, folder))
    assert picture.view.batch(0) == plain.view.batch(0)
    assert "AND NOW" in picture.view.text_rows()
    writer.abandon()


def test_a_process_that_was_killed_reads_again_only_what_came_since_the_state_was_kept(
    tmp_path: Path, follow: Follow, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(following, "KEEP_EVERY", 20)
    monkeypatch.setattr(following, "AT_ONCE", 5)
    folder, cache = tmp_path / "recordings", tmp_path / "cache"
    writer = a_day_so_far(folder)
    late(follow, folder, cache)  # and isn't closed
    assert Counted.applied > 40
    late(follow, folder, cache)
    assert Counted.applied < 20
    writer.abandon()


def test_a_kept_state_of_another_recording_or_of_one_that_was_changed_is_not_used(
    tmp_path: Path, follow: Follow
) -> None:
    folder, cache = tmp_path / "recordings", tmp_path / "cache"
    a_day_so_far(folder).close("done", 10**10)
    Counted.applied = 0
    first = follow(Picture("live"), folder, kept=LastKeyframe(Counted, VIEW_VERSION, cache))
    catch_up(first)
    whole = Counted.applied
    first.close()
    (path,) = folder.glob("*.exhibit")
    content = path.read_bytes()
    path.write_bytes(content[:-11] + b"00000000" + content[-3:])
    late(follow, folder, cache)
    assert Counted.applied >= whole - 1
    path.unlink()
    begun(folder, wall="2026-11-26T09:00:00.000+00:00").abandon()
    assert late(follow, folder, cache).view.seq == 2
    assert len(list(cache.iterdir())) == 1, "one for the folder, whatever the number of its recordings"


def test_a_page_begun_late_has_the_museum_s_pictures(tmp_path: Path, follow: Follow) -> None:
    folder, cache = tmp_path / "recordings", tmp_path / "cache"
    pictures = {"a.svg": "<svg/>"}
    writer = a_day_so_far(folder, pictures=pictures)
    before = follow(Picture("live"), folder, kept=LastKeyframe(View, VIEW_VERSION, cache))
    catch_up(before)
    before.close()
    assert pictures in late(follow, folder, cache).drawn_now()
    writer.abandon()
