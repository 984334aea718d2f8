"""Visitors are told what follows from facts, and every caption names the facts on which it rests."""

from __future__ import annotations

import msgspec
import pytest

from exhibit.decisions.story.story import CONFIRMED_FOR_US, Story
from exhibit.facts import kinds
from tests.decisions.heron import (
    S,
    caption,
    command,
    folder,
    give,
    hands_on,
    machine,
    opened,
    pause,
    script,
)
from tests.decisions.wear.test_job_watch import exerciser

STEPS = (
    hands_on("key"),
    command("begin", "begin", "begun"),
    pause("look"),
)


class Told:
    """A story that is told facts one after the other."""

    def __init__(self, *captions, steps=STEPS, opened=None):
        self._story = Story(folder(script("round", *steps), captions=captions), opened)
        self._seq = 0
        self.at_us = 0

    def fact(self, fact) -> list[tuple]:
        """Caption, words and grounds of what is shown then."""
        self._seq += 1
        shown = self._story.note(kinds.Entry(self._seq, self.at_us, fact))
        return [(one.caption, one.words["en"], one.because) for one in shown]

    def received(self):
        return self.fact(kinds.BytesReceived(bytes="X", first_us=0))

    def reading(self, value, name="load"):
        return self.fact(kinds.ReadingTaken(display="board", frame=1, name=name, value=value))

    def starts(self, step):
        return self.fact(kinds.StepStarted(script="round", step=step))

    def ends(self, step):
        return self.fact(kinds.StepEnded(script="round", step=step))

    def matches(self, step, **fields):
        return self.fact(kinds.StepMatched(script="round", step=step, name="begun", line="", fields=fields))

    def begins(self, name="round"):
        return self.fact(kinds.ScriptStarted(script=name, title={}, by="a docent", round=1))

    def confirms(self, step="key"):
        return self.fact(kinds.HandsOnConfirmed(step=step, by="a docent"))


def test_a_caption_on_a_line_rests_on_the_bytes_and_on_the_line():
    told = Told(caption("c", "Job {job} has begun.", when="begun"))
    told.received()
    told.fact(kinds.Heartbeat(wall=""))
    shown = told.fact(kinds.PatternSeen(pattern="begun", line="", fields={"job": "3"}))
    assert shown == [("c", "Job 3 has begun.", [1, 3])]


def test_a_caption_on_a_prompt_or_a_display():
    told = Told(caption("c", "The desk {name}.", when="desk"))
    told.received()
    reached = kinds.LandmarkReached(landmark="desk", line="", fields={"name": "TERN"})
    assert told.fact(reached) == [("c", "The desk TERN.", [1, 2])]
    assert told.fact(kinds.LandmarkReached(landmark="ready", line="")) == []


def test_a_caption_when_a_step_begins_rests_on_what_came_before_it_in_the_script():
    told = Told(caption("c", step_started="round.look"))
    told.begins()
    told.starts("begin")
    told.received()
    told.matches("begin")
    told.ends("begin")
    assert told.starts("look") == [("c", "Words.", [4, 6])]


def test_what_came_in_another_script_is_no_ground():
    told = Told(caption("c", step_started="round.look"))
    told.begins("opening")
    told.matches("begin")
    told.begins("round")
    assert told.starts("look") == [("c", "Words.", [4])]


def test_a_caption_when_a_step_is_done_has_the_fields_of_what_came_and_rests_on_it():
    told = Told(caption("c", "Job {job} has begun.", step_done="round.begin"))
    told.begins()
    told.starts("begin")
    told.received()
    told.matches("begin", job="3")
    assert told.ends("begin") == [("c", "Job 3 has begun.", [3, 4, 5])]


def test_a_pause_can_be_done_too():
    told = Told(caption("c", step_done="round.look"))
    told.starts("begin")
    told.matches("begin", job="3")
    told.starts("look")
    assert told.ends("look") == [("c", "Words.", [4])]


def test_a_hands_on_step_that_is_done_rests_on_the_persons_word():
    told = Told(caption("c", step_done="round.key"))
    told.begins()
    told.starts("key")
    assert told.confirms() == []
    assert told.ends("key") == [("c", "Words.", [3, 4])]


def test_a_step_that_fails_or_is_left_out_isnt_done():
    told = Told(caption("c", step_done="round.begin"))
    told.starts("begin")
    assert told.fact(kinds.StepFailed(script="round", step="begin", why="")) == []
    assert told.fact(kinds.StepLeftOut(script="round", step="begin", why="")) == []


def test_a_caption_that_a_step_gives_is_shown_when_the_step_begins():
    told = Told(caption("given"), steps=(give("tell", "given"),))
    assert told.starts("tell") == [("given", "Words.", [1])]


@pytest.mark.parametrize(
    ("change", "values", "shown_at"),
    [
        ("rises", [3, 3, 4, 2, 2.5], [4, 2.5]),
        ("falls", [3, 3, 4, 2, 2.5], [2]),
        ("changes", [3, 3, 4, 2, 2.5], [4, 2, 2.5]),
        ("changes", ["DAY", "DAY", "NIGHT"], ["NIGHT"]),
        ("rises", ["DAY", "NIGHT"], []),
        ("falls", [1], []),
    ],
)
def test_a_reading_brings_a_caption_when_it_changes_so_and_never_the_first_time(change, values, shown_at):
    told = Told(caption("c", "{value}", reading="board.load", change=change))
    shown = [words for value in values for _, words, _ in told.reading(value)]
    assert shown == [str(value) for value in shown_at]


def test_a_reading_after_a_lost_line_isnt_compared_with_one_from_before_it():
    told = Told(caption("c", "{value}", reading="board.load", change="rises"))
    told.reading(1)
    told.fact(kinds.LineLost(why="unplugged"))
    assert told.reading(5) == []
    assert told.reading(6) != []


def test_readings_of_different_names_dont_mix():
    told = Told(caption("c", "{value}", reading="board.load", change="changes"))
    told.reading(1)
    assert told.reading(2, name="other") == []
    assert told.reading(1) == []


def test_a_table_brings_no_caption():
    told = Told(caption("c", reading="board.jobs", change="changes"))
    for table in ([], [{"job": "1"}]):
        assert told.fact(kinds.ReadingTaken(display="board", frame=1, name="jobs", table=table)) == []


def test_a_place_that_the_trigger_hasnt_stays_as_it_is_written():
    told = Told(caption("c", "{job} {nobody knows}", when="begun"))
    assert (
        told.fact(kinds.PatternSeen(pattern="begun", line="", fields={"job": "3"}))[0][1]
        == "3 {nobody knows}"
    )


# -- look or listen for


LISTEN = caption("listen", kind="look or listen for", when="begun", confirmed_by="round.key")


def begun(told):
    return told.fact(kinds.PatternSeen(pattern="begun", line="", fields={}))


def test_nobody_is_told_to_listen_before_a_person_has_confirmed_that_it_can_be_heard():
    assert begun(Told(LISTEN)) == []


def test_a_tell_tale_rests_on_the_persons_word_too():
    told = Told(LISTEN)
    told.begins()
    told.confirms()
    told.received()
    assert begun(told) == [("listen", "Words.", [2, 3, 4])]


def test_a_confirmation_counts_for_a_day():
    told = Told(LISTEN)
    told.begins()
    told.confirms()
    told.at_us = CONFIRMED_FOR_US
    assert begun(told) != []
    told.at_us += 1
    assert begun(told) == []
    assert CONFIRMED_FOR_US == 24 * 3600 * S


def test_where_the_date_is_known_a_confirmation_counts_until_midnight():
    told = Told(LISTEN, opened=opened(wall="2026-11-25T23:00:00+00:00"))
    told.begins()
    told.confirms()
    told.at_us = 3600 * S - 1
    assert begun(told) != []
    told.at_us += 1
    assert begun(told) == []


def test_a_confirmation_of_another_scripts_step_is_none():
    told = Told(LISTEN)
    told.begins("opening")
    told.confirms()
    assert begun(told) == []


# -- several


def test_several_captions_come_in_the_order_of_the_file():
    told = Told(caption("one", when="begun"), caption("two", when="begun"))
    assert [name for name, _, _ in begun(told)] == ["one", "two"]


def test_a_caption_says_its_kind_its_part_and_its_source():
    background = caption("book", "Long ago.", kind="background", when="begun")
    story = Story(folder(script("round", *STEPS), captions=(background,)))
    (shown,) = story.note(kinds.Entry(1, 0, kinds.PatternSeen(pattern="begun", line="", fields={})))
    assert shown == kinds.CaptionShown(
        caption="book",
        kind="background",
        words={"en": "Long ago."},
        part="console",
        because=[1],
        source={"en": "A book."},
    )


def test_a_field_is_written_as_a_number_only_where_the_words_say_so():
    told = Told(caption("c", "{words: number} places in {year}, {name: number}", when="begun"))
    fields = {"words": "65536", "year": "1998", "name": "LOWER"}
    shown = told.fact(kinds.PatternSeen(pattern="begun", line="", fields=fields))
    assert shown[0][1] == "65,536 places in 1998, LOWER"


# -- what ends it


def shown_by(*facts, **changes):
    """The captions that these facts bring: on a line, when a step is done, at a display, of a reading."""
    work = msgspec.structs.replace(exerciser("work", "WORK", "begun"), job="job")
    captions = (
        caption("line", when="begun"),
        caption("done", step_done="round.begin"),
        caption("display", when="board"),
        caption("reading", reading="board.load", change="changes"),
    )
    captions = tuple(msgspec.structs.replace(one, **changes) for one in captions)
    described = machine(exercisers=(work,))
    story = Story(folder(script("round", *STEPS), captions=captions, machine=described))
    return [one for seq, fact in enumerate(facts, 1) for one in story.note(kinds.Entry(seq, seq, fact))]


def test_a_caption_says_which_job_has_begun_and_which_display_it_is_about():
    begun = kinds.PatternSeen(pattern="begun", line="", fields={"job": "3"})
    matched = kinds.StepMatched(script="round", step="begin", name="begun", line="", fields={"job": "4"})
    facts = [
        begun,
        kinds.StepStarted(script="round", step="begin"),
        matched,
        kinds.StepEnded(script="round", step="begin"),
        kinds.LandmarkReached(landmark="board", line=""),
        kinds.ReadingTaken(display="board", frame=1, name="load", value=1),
        kinds.ReadingTaken(display="board", frame=2, name="load", value=2),
    ]
    about = [(one.caption, one.job, one.display) for one in shown_by(*facts)]
    assert about == [("line", "3", ""), ("done", "4", ""), ("display", "", "board"), ("reading", "", "board")]


def test_a_step_that_waited_for_a_display_has_a_caption_about_it():
    matched = kinds.StepMatched(script="round", step="begin", name="board", line="", fields={})
    (done,) = shown_by(matched, kinds.StepEnded(script="round", step="begin"))
    assert (done.caption, done.display) == ("done", "board")
    started = kinds.StepStarted(script="round", step="look")
    (other,) = shown_by(matched, started, kinds.StepEnded(script="round", step="begin"))
    assert other.display == ""


def test_a_caption_carries_the_ends_that_the_folder_names():
    (shown,) = shown_by(kinds.LandmarkReached(landmark="board", line=""), ends=("ready", "round.look"))
    assert shown.ends == ["ready", "round.look"]
