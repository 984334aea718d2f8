"""Every statement about the machine on the visitors' page, where it is true and where it must not be said."""

from __future__ import annotations

import datetime
from pathlib import Path

import msgspec
import pytest

from exhibit.facts import kinds
from exhibit.facts.visitor_words import Chapter, DayHours, Hours
from tests.decisions.heron import S
from tests.decisions.page import runs
from tests.statements.page import (
    AHEAD,
    CATCHING_UP,
    GONE,
    REPLAY,
    STUCK,
    WRITING,
    YESTERDAY,
    OnPage,
    keys_of_words,
    page,
    painted,
)
from tests.statements.pictures import A_SECOND_LATER, PICTURES, PICTURES_STATE_NOTHING
from tests.statements.told_cases import ENDED, LOST, OPEN, STARTED, failed, garbled, late

HEARD = kinds.BytesReceived(bytes="X", first_us=0)
SILENT = kinds.MachineSilent(heard_us=S, due_us=2 * S, due="typing")
SILENT_FROM_THE_FIRST = kinds.MachineSilent(heard_us=0, due_us=S, due="typing")
PART_RUNS = kinds.PartStarted(part="left", by="begun")
TURNED_ON = kinds.PartStarted(part="left", by="turn")
LONG_QUIET = [kinds.DeadlineArmed(name="x", due_us=0)] * 125
OVER = kinds.SessionResting(until_us=0)
LUNCH, BACK = (kinds.DayTurned(phase=phase, by="a docent") for phase in ("away", "rounds"))
SAID_STOP = kinds.DayTurned(phase="stopped", by="a docent")
UNOPENED = kinds.DayTurned(phase="before opening", by="midnight")
DOORS = Hours(days=[DayHours(date="2026-11-25", opens="10:00", closes="17:00")])
RESTING = kinds.SessionResting(until_us=600 * S)
CLOSED = kinds.RecordingClosed(why="asked to end")
PUT_TO_SLEEP = (PART_RUNS, kinds.PartStopped(part="left", by="ended"), OVER)
BEGUN = kinds.ExerciserBegun(exerciser="work", job="3", part="left", ends_us=240 * S)
ENDLESS = kinds.ExerciserBegun(exerciser="work", job="4", part="left", ends_us=0)
WORK_ENDED = kinds.ExerciserEnded(exerciser="work", job="3", by="ended")
DOUBT = kinds.JobInDoubt(
    asked=1, exercisers=["work"], command="WORK", by="", why="the line was lost", ends_us=99 * S
)
KNOWN = kinds.JobDoubtOver(asked=1, how="ended", by="ended")
STOPPED = kinds.ScriptEnded(script="round", outcome="stopped", tidy=True, why="a docent said stop")
BROKEN = kinds.ScriptEnded(script="round", outcome="failed", tidy=False, why="x")
TIDYING = kinds.TidyUpStarted(script="round", why="x")
DATE = kinds.PatternSeen(pattern="day", line="DAY 1.1.1975", fields={"date": "1.1.1975"})
ASKED = kinds.HandsOnAsked(script="round", step="load", words={"en": "Turn it."}, caution={})
ASKED_AT_IT = msgspec.structs.replace(ASKED, caution={"en": "Mind the fan."})
TROUBLE = kinds.TroubleRaised(
    trouble="fire", line="", words={"en": "A drive has failed."}, do={"en": "Call."}
)
FULL = kinds.RecordNearlyFull(left_bytes=1)
OFF_AND_ON_AGAIN = (
    kinds.PartStarted(part="processor", by="core-sound"),
    DATE,
    kinds.PartStopped(part="processor", by="ended"),
    kinds.PartStarted(part="processor", by="core-sound"),
)
TURNED = (
    kinds.HandsOnConfirmed(step="turn", by="a docent"),
    kinds.PatternSeen(pattern="begun", line="BEGUN"),
)
GOES = kinds.StepStarted(script="round", step="go")
NEXT = kinds.StepStarted(script="round", step="next")
CHAPTERS = {
    "round": [
        Chapter(name=step, words={"en": f"it {does} sums"}, told={"en": "x"}, from_step=step)
        for step, does in (("go", "begins"), ("next", "does"))
    ]
}


def caption(kind: kinds.CaptionKind) -> kinds.CaptionShown:
    return kinds.CaptionShown(
        caption="c", kind=kind, words={"en": "It works."}, part="", because=[], source={}
    )


def refused(limit: str) -> kinds.ScriptRefused:
    return kinds.ScriptRefused(script="round", limit=limit, why="x", until_us=0)  # type: ignore[arg-type]


KEY_TURNED = kinds.HandsOnConfirmed(step="key", by="a docent")
"""The fourth fact of a page that is opened and asked."""
KEY_TURNED_IN_IT = kinds.HandsOnConfirmed(step="key", by="the simulated docent")
TURNED_IN_IT = msgspec.structs.replace(TURNED[0], by="the simulated docent")
TODAY = datetime.datetime.now(datetime.UTC).astimezone().isoformat(timespec="milliseconds")
"""By this computer's clock, which is the screen's here."""
BY_HAND = msgspec.structs.replace(caption("seen"), because=[4])
LISTED = {
    "ahead": {"list": msgspec.structs.replace(AHEAD, part="desk")},
    "drawn": {"desk": msgspec.structs.replace(runs.DRAWN["desk"], shape="desk")},
}
"""What comes next is to be seen on the console."""
ON_PHONE = page(OPEN, STARTED, GOES, phone=True)
SEEN, LOOK = caption("seen"), caption("look or listen for")
LIVE = page(OPEN, HEARD)
STATEMENTS = [
    # -- the badge
    OnPage("badges.live", "\nLive\n", LIVE, page(OPEN, HEARD, sight=REPLAY)),
    OnPage("badges.watching", "Live, watching only", page(OPEN, HEARD, typing="nothing"), LIVE),
    OnPage("badges.recorded", "\nRecorded\n", page(OPEN, HEARD, sight=REPLAY), LIVE),
    OnPage(
        "since.recordedToday",
        "earlier today\n",
        page(OPEN, HEARD, sight=REPLAY, wall=TODAY),
        page(OPEN, HEARD, sight=REPLAY),
    ),
    OnPage("badges.simulated machine", "\nSimulated machine\n", page(OPEN, machine_is="simulated"), LIVE),
    OnPage(
        "badges.resting", "\nResting\n", page(OPEN, STARTED, ENDED, OVER), page(OPEN, STARTED, ENDED, RESTING)
    ),
    OnPage(
        "badges.paused",
        "\nPaused\n",
        page(OPEN, STARTED, STOPPED, SAID_STOP, OVER),
        page(OPEN, STARTED, ENDED, UNOPENED, OVER),
    ),
    OnPage(
        "badges.paused",
        "\nPaused\n",
        page(OPEN, STARTED, ENDED, LUNCH, OVER),
        page(OPEN, STARTED, ENDED, LUNCH, OVER, CLOSED),
    ),
    OnPage(
        "badges.resting",
        "\nResting\n",
        page(OPEN, STARTED, ENDED, UNOPENED, OVER),
        page(OPEN, STARTED, STOPPED, SAID_STOP, OVER),
    ),
    OnPage("badges.link lost", "Link to the machine lost", page(OPEN, LOST), page(OPEN, LOST, OPEN)),
    OnPage("badges.bridge gone", "\nWe can’t see the machine just now\n", page(OPEN, sight=GONE), LIVE),
    OnPage(
        "badges.bridge not answering", "\nWe can’t see the machine just now\n", page(OPEN, sight=STUCK), LIVE
    ),
    OnPage(
        "badges.failed",
        "\nStopped until somebody has checked\n",
        page(OPEN, failed()),
        page(OPEN, failed(), kinds.SessionCleared(by="x")),
    ),
    OnPage("badges.silent", "\nNothing heard\n", page(OPEN, HEARD, SILENT), page(OPEN, HEARD, SILENT, HEARD)),
    OnPage("badges.not started", "\nStarting\n", page(sight=WRITING), LIVE),
    OnPage("badges.not started today", "\nNot started today\n", page(OPEN, CLOSED, sight=YESTERDAY), LIVE),
    OnPage("then", "On 25 November 2026, visitors read:", page(OPEN, SEEN, sight=GONE), page(OPEN, SEEN)),
    OnPage(
        "badges.not started today",
        "\nNot started today\n",
        page(OPEN, sight=YESTERDAY),
        page(OPEN, CLOSED, sight=GONE),
    ),
    OnPage("badges.asleep", "\nAsleep\n", page(OPEN, *PUT_TO_SLEEP), page(OPEN, *PUT_TO_SLEEP, TURNED_ON)),
    OnPage("badges.asleep", "\nAsleep\n", page(OPEN, *PUT_TO_SLEEP), page(OPEN, PART_RUNS, CLOSED)),
    OnPage("badges.reading the record", "\nReading the recording\n", page(OPEN, sight=CATCHING_UP), LIVE),
    OnPage(
        "badges.reconnecting",
        "\nThis page is reconnecting\n",
        page(OPEN, HEARD, alone="for a moment"),
        page(OPEN, HEARD, alone="for long"),
    ),
    OnPage(
        "badges.demonstration over",
        "The demonstration has ended",
        page(OPEN, HEARD, CLOSED, alone="for long", machine_is="simulated"),
        page(OPEN, HEARD, CLOSED, alone="for long"),
    ),
    OnPage(
        "badges.page alone",
        "\nWaiting for the museum’s computer\n",
        page(OPEN, HEARD, alone="for long"),
        page(OPEN, HEARD, alone="for a moment"),
    ),
    OnPage(
        "badges.museum not heard",
        "\nNothing new from the museum",
        page(OPEN, HEARD, museum_heard=False),
        LIVE,
    ),
    OnPage(
        "lastHeard",
        "last heard 2 minutes ago",
        page(OPEN, HEARD, *LONG_QUIET),
        page(OPEN, HEARD, *LONG_QUIET, HEARD),
    ),
    OnPage(
        "lastHeard",
        "last heard 2 minutes ago",
        page(OPEN, HEARD, *LONG_QUIET),
        page(OPEN, HEARD, *LONG_QUIET, LOST),
    ),
    OnPage("simulated", "simulated machine", page(OPEN, LOST, machine_is="simulated"), page(OPEN, LOST)),
    OnPage("practice", "\nPractice: nothing is typed at the machine\n", page(OPEN, practice=True), LIVE),
    OnPage(
        "atKeyboard",
        "an engineer is at the keyboard",
        page(OPEN, kinds.KeyboardTaken(by="x")),
        page(OPEN, kinds.KeyboardTaken(by="x"), kinds.KeyboardGivenBack(by="x")),
    ),
    OnPage(
        "signs.trouble",
        "a trouble was noticed",
        page(OPEN, TROUBLE),
        page(OPEN, TROUBLE, kinds.TroubleOver(raised=3, by="x")),
    ),
    OnPage("signs.trouble", "a trouble was noticed", page(OPEN, TROUBLE), page(OPEN, TROUBLE, sight=GONE)),
    OnPage(
        "signs.by hand",
        "a person’s turn at the machine",
        page(OPEN, STARTED, ASKED_AT_IT),
        page(OPEN, STARTED, ASKED_AT_IT, kinds.HandsOnConfirmed(step="load", by="x")),
    ),
    OnPage(
        "signs.by hand",
        "a person’s turn at the machine",
        page(OPEN, STARTED, ASKED_AT_IT),
        page(OPEN, STARTED, ASKED),
    ),
    OnPage(
        "signs.by hand",
        "a person’s turn at the machine",
        page(OPEN, STARTED, ASKED_AT_IT),
        page(OPEN, STARTED, ASKED_AT_IT, machine_is="simulated"),
    ),
    OnPage(
        "signs.by hand, simulated",
        "a step by hand, simulated",
        page(OPEN, STARTED, ASKED_AT_IT, machine_is="simulated"),
        page(OPEN, STARTED, ASKED_AT_IT, machine_is="simulated", sight=REPLAY),
    ),
    OnPage("faster", "20 times real speed", page(OPEN, rate=20.0), LIVE),
    # -- the notice
    OnPage("notices.link lost", "The link to the machine was lost at 09:00:02", page(OPEN, LOST), LIVE),
    OnPage("notices.bridge gone", "has stopped unexpectedly", page(OPEN, sight=GONE), page(OPEN, CLOSED)),
    OnPage(
        "notices.bridge not answering", "is not responding", page(OPEN, sight=STUCK), page(OPEN, sight=GONE)
    ),
    OnPage(
        "notices.failed",
        "The console still shows what the machine prints",
        page(OPEN, failed()),
        page(OPEN, failed(), CLOSED),
    ),
    OnPage("notices.failed", "has been shut down", page(OPEN, failed(), CLOSED), page(OPEN, failed())),
    OnPage(
        "notices.failed",
        "Nothing more will be typed until",
        page(OPEN, failed()),
        page(OPEN, failed(), kinds.SessionCleared(by="x")),
    ),
    OnPage(
        "notices.silent",
        "nothing has been heard since 09:00:01",
        page(OPEN, HEARD, SILENT),
        page(OPEN, SILENT_FROM_THE_FIRST),
    ),
    OnPage(
        "notices.silent",
        "nothing has been heard from it yet",
        page(OPEN, SILENT_FROM_THE_FIRST),
        page(OPEN, HEARD, SILENT),
    ),
    OnPage(
        "notices.resting",
        "The program that talks to the machine has been shut down",
        page(OPEN, CLOSED),
        page(OPEN, STARTED, ENDED, OVER),
    ),
    OnPage(
        "notices.resting",
        "Nothing more is planned for now. What you see",
        page(OPEN, STARTED, ENDED, OVER),
        page(OPEN, BEGUN, CLOSED),
    ),
    OnPage(
        "notices.resting",
        "Nothing more is planned for now. What you see",
        page(OPEN, STARTED, ENDED, OVER),
        page(OPEN, STARTED, ENDED, LUNCH, OVER),
    ),
    OnPage(
        "notices.resting",
        "Its day hasn’t begun yet. The museum is open from 10:00 to 17:00. What you see",
        page(OPEN, UNOPENED, OVER, hours=DOORS),
        page(OPEN, UNOPENED, OVER),
    ),
    OnPage(
        "notices.resting",
        "Nothing more is planned for now. What you see",
        page(OPEN, STARTED, ENDED, OVER),
        page(OPEN, UNOPENED, OVER),
    ),
    OnPage(
        "notices.resting",
        "It goes on when a person says so. What you see",
        page(OPEN, STARTED, ENDED, LUNCH, OVER),
        page(OPEN, STARTED, ENDED, LUNCH, OVER, CLOSED),
    ),
    OnPage(
        "notices.demonstration over",
        "What you see is its end",
        page(OPEN, HEARD, CLOSED, alone="for a moment", machine_is="simulated"),
        page(OPEN, HEARD, alone="for a moment", machine_is="simulated"),
    ),
    OnPage("notices.page alone", "can’t reach the museum’s computer", page(OPEN, alone="for long"), LIVE),
    OnPage(
        "notices.museum not heard",
        "Nothing has reached this page from the museum since 09:00:02",
        page(OPEN, HEARD, museum_heard=False),
        page(OPEN, HEARD, alone="for long"),
    ),
    OnPage(
        "notices.museum not heard",
        "Nothing has reached this page from the museum yet",
        page(sight=CATCHING_UP, museum_heard=False),
        page(OPEN, HEARD, museum_heard=False),
    ),
    OnPage(
        "notices.reconnecting", "One moment. What you see is from", page(OPEN, alone="for a moment"), LIVE
    ),
    OnPage(
        "notices.asleep",
        "Everything in the machine that was running has been stopped",
        page(OPEN, *PUT_TO_SLEEP),
        page(OPEN, PART_RUNS, CLOSED),
    ),
    OnPage(
        "notices.not started today",
        "Nothing has been started at the machine today. What you see is the last that came from it, on 25",
        page(OPEN, HEARD, sight=YESTERDAY),
        page(OPEN, HEARD, sight=GONE),
    ),
    OnPage(
        "notices.reading the record", "is being read up to this moment", page(OPEN, sight=CATCHING_UP), LIVE
    ),
    # -- a recording in place of the machine
    OnPage(
        "isRecording",
        "This is a recording. All of it happened on 25 November 2026",
        page(OPEN, sight=REPLAY),
        LIVE,
    ),
    OnPage("machineIsBack", "We are back at the machine itself", page(OPEN, HEARD, back=True), LIVE),
    OnPage(
        "meanwhile.resting",
        "This computer has done nothing at the machine since",
        page(OPEN, STARTED, ENDED, OVER, meanwhile=True),
        page(OPEN, failed(), meanwhile=True),
    ),
    OnPage(
        "meanwhile.failed",
        "Somebody has to check the machine before it goes on",
        page(OPEN, failed(), meanwhile=True),
        page(OPEN, CLOSED, meanwhile=True),
    ),
    OnPage(
        "meanwhile.silent",
        "Nothing has been heard from the machine since",
        page(OPEN, HEARD, SILENT, meanwhile=True),
        page(OPEN, SILENT_FROM_THE_FIRST, meanwhile=True),
    ),
    OnPage(
        "meanwhile.link lost",
        "The link to the machine was lost on",
        page(OPEN, LOST, meanwhile=True),
        page(OPEN, sight=GONE, meanwhile=True),
    ),
    OnPage(
        "meanwhile.bridge gone",
        "The program that talks to it has stopped",
        page(OPEN, sight=GONE, meanwhile=True),
        page(OPEN, sight=STUCK, meanwhile=True),
    ),
    OnPage(
        "meanwhile.bridge not answering",
        "The program that talks to it is not responding",
        page(OPEN, sight=STUCK, meanwhile=True),
        page(OPEN, sight=GONE, meanwhile=True),
    ),
    OnPage(
        "meanwhile.museum not heard",
        "Nothing has reached this page from the museum since",
        page(OPEN, HEARD, CLOSED, meanwhile=True, museum_heard=False),
        page(OPEN, HEARD, CLOSED, meanwhile=True),
    ),
    OnPage(
        "meanwhile.not started",
        "Nothing has been heard from the machine yet.",
        page(meanwhile=True),
        page(OPEN, HEARD, SILENT, meanwhile=True),
    ),
    OnPage(
        "meanwhile.asleep",
        "The last part of the machine was stopped on 25 November 2026",
        page(OPEN, *PUT_TO_SLEEP, meanwhile=True),
        page(OPEN, PART_RUNS, CLOSED, meanwhile=True),
    ),
    OnPage(
        "meanwhile.not started today",
        "Nothing has been started at the machine today. This computer last recorded it on 25 November 2026",
        page(OPEN, HEARD, sight=YESTERDAY, meanwhile=True),
        page(OPEN, HEARD, sight=GONE, meanwhile=True),
    ),
    OnPage("then", "visitors read:", page(OPEN, SEEN, sight=REPLAY), page(OPEN, SEEN)),
    OnPage(
        "thenToday",
        "today, visitors read:",
        page(OPEN, SEEN, sight=REPLAY, wall=TODAY),
        page(OPEN, SEEN, sight=REPLAY),
    ),
    OnPage(
        "isRecordingToday",
        "All of it happened earlier today",
        page(OPEN, HEARD, sight=REPLAY, wall=TODAY),
        page(OPEN, HEARD, sight=REPLAY),
    ),
    # -- what may be running
    OnPage(
        "mayRun",
        "We have not seen it end, so it may still be running",
        page(OPEN, BEGUN, LOST),
        page(OPEN, BEGUN, WORK_ENDED, LOST),
    ),
    OnPage(
        "mayRun",
        "We have not seen it end, so it may still be running",
        page(OPEN, BEGUN, CLOSED),
        page(OPEN, BEGUN),
    ),
    OnPage(
        "mayRunInDoubt",
        "What the machine printed does not say for certain",
        page(OPEN, DOUBT),
        page(OPEN, DOUBT, KNOWN),
    ),
    OnPage(
        "mayRunUntil",
        "It has a time limit and stops by 09:04 at the latest",
        page(OPEN, BEGUN, LOST),
        page(OPEN, ENDLESS, LOST),
    ),
    OnPage(
        "mayRunUntil",
        "It does not stop by itself: somebody has to stop it",
        page(OPEN, ENDLESS, LOST),
        page(OPEN, BEGUN, LOST),
    ),
    OnPage(
        "mayRunPerhaps",
        "perhaps kept busy by a job whose number we don’t know",
        page(OPEN, DOUBT),
        page(OPEN, DOUBT, kinds.JobListed(asked=1, job="7", by="x")),
    ),
    OnPage("stopByHand", "For the docent, to stop it by hand", page(OPEN, BEGUN, LOST), page(OPEN, BEGUN)),
    # -- the caption and its place
    OnPage("kinds.seen", "Seen on the console", page(OPEN, HEARD, SEEN), page(OPEN, HEARD, LOOK)),
    OnPage(
        "kinds.look or listen for",
        "Look or listen for this",
        page(OPEN, LOOK),
        page(OPEN, LOOK, machine_is="simulated"),
    ),
    OnPage(
        "kindSimulated",
        "To look or listen for, at a real machine",
        page(OPEN, LOOK, machine_is="simulated"),
        page(OPEN, LOOK),
    ),
    OnPage(
        "kinds.confirmed",
        "Confirmed by hand",
        page(OPEN, ASKED, KEY_TURNED, BY_HAND),
        page(OPEN, HEARD, SEEN),
    ),
    OnPage(
        "kinds.confirmed in the simulation",
        "Done in the simulation",
        page(OPEN, ASKED, KEY_TURNED_IN_IT, BY_HAND, machine_is="simulated"),
        page(OPEN, ASKED, KEY_TURNED, BY_HAND),
    ),
    OnPage("kinds.background", "Background", page(OPEN, caption("background")), page(OPEN, SEEN)),
    OnPage("noCaption", "Nothing to explain yet", page(OPEN, HEARD), page(OPEN, HEARD, SEEN)),
    OnPage(
        "nothingHeard",
        "Nothing heard since 09:00",
        page(OPEN, HEARD, SILENT),
        page(OPEN, HEARD, SILENT, HEARD),
    ),
    OnPage("nothingHeard", "Nothing heard yet", page(OPEN, SILENT_FROM_THE_FIRST), page(OPEN, HEARD, SILENT)),
    OnPage("empty.not started", "yet\n\nNothing has been heard from the machine yet.", page(), LIVE),
    OnPage("empty.reading the record", "catching up with the machine", page(OPEN, sight=CATCHING_UP), LIVE),
    OnPage(
        "empty.by hand",
        "The next step is done at the machine, by hand",
        page(OPEN, STARTED, ASKED),
        page(OPEN, STARTED, ASKED, kinds.HandsOnConfirmed(step="load", by="x")),
    ),
    OnPage("titles.not started", "Not started yet", page(), LIVE),
    OnPage("titles.failed", "Waiting for help", page(OPEN, failed()), LIVE),
    OnPage("titles.lost", "The link is lost", page(OPEN, LOST), page(OPEN, LOST, OPEN)),
    OnPage(
        "titles.resting until",
        "The machine rests until 09:10",
        page(OPEN, STARTED, ENDED, RESTING),
        page(OPEN, STARTED, ENDED, OVER),
    ),
    OnPage(
        "titles.resting",
        "\nThe machine rests\n",
        page(OPEN, STARTED, ENDED, OVER),
        page(OPEN, STARTED, ENDED, RESTING),
    ),
    OnPage(
        "titles.resting, waits",
        "\nA pause\n",
        page(OPEN, STARTED, STOPPED, SAID_STOP, OVER),
        page(OPEN, UNOPENED, OVER),
    ),
    OnPage(
        "empty.failed",
        "We type nothing until somebody has looked",
        page(OPEN, failed()),
        page(OPEN, failed(), kinds.SessionCleared(by="x")),
    ),
    OnPage(
        "empty.lost",
        "The link to the machine is lost. This computer keeps trying",
        page(OPEN, LOST),
        page(OPEN, LOST, OPEN),
    ),
    OnPage(
        "empty.resting until",
        "It is resting now. It goes on at 09:10",
        page(OPEN, STARTED, ENDED, RESTING),
        page(OPEN, STARTED, ENDED, RESTING, STARTED),
    ),
    OnPage(
        "empty.resting",
        "It is resting now. Nothing more is planned for now.",
        page(OPEN, STARTED, ENDED, OVER),
        page(OPEN, STARTED, ENDED, RESTING),
    ),
    OnPage(
        "empty.resting, waits",
        "There is a pause now. It goes on when a person says so.",
        page(OPEN, STARTED, ENDED, SAID_STOP, OVER),
        page(OPEN, STARTED, ENDED, LUNCH, OVER, BACK, OVER),
    ),
    OnPage(
        "empty.resting, unopened",
        "It is resting now. Its day hasn’t begun yet.\n",
        page(OPEN, UNOPENED, OVER, hours=Hours(days=[DayHours(date="2026-11-25", opens="", closes="")])),
        page(OPEN, UNOPENED, OVER, hours=DOORS),
    ),
    OnPage(
        "empty.resting, unopened",
        "Its day hasn’t begun yet. The museum is open from 10:00 to 17:00.",
        page(OPEN, UNOPENED, OVER, hours=DOORS),
        page(OPEN, UNOPENED, kinds.DayTurned(phase="over", by="closing"), OVER, hours=DOORS),
    ),
    OnPage(
        "empty.nothing begun",
        "We have started nothing at the machine today.",
        page(OPEN, HEARD),
        page(OPEN, HEARD, PART_RUNS),
    ),
    OnPage(
        "empty.nothing begun",
        "We have started nothing at the machine today.",
        page(OPEN, HEARD),
        page(OPEN, HEARD, typing="nothing"),
    ),
    OnPage("help.nothingTyped", "Nothing more is typed.", page(OPEN, failed()), page(OPEN, STARTED)),
    OnPage("help.look", "Somebody has to look at the machine.", page(OPEN, failed()), page(OPEN, TROUBLE)),
    OnPage(
        "help.tidy",
        "Nothing that was started here goes on.",
        page(OPEN, STARTED, STOPPED),
        page(OPEN, STARTED, BROKEN),
    ),
    OnPage(
        "help.notTidy",
        "We don’t know whether everything was stopped.",
        page(OPEN, STARTED, BROKEN),
        page(OPEN, STARTED, STOPPED),
    ),
    OnPage(
        "titles.closed",
        "The record ends here",
        page(OPEN, STARTED, ENDED, CLOSED),
        page(OPEN, STARTED, ENDED),
    ),
    OnPage(
        "empty.closed",
        "That was all for now.",
        page(OPEN, STARTED, ENDED, CLOSED),
        page(OPEN, STARTED, ENDED),
    ),
    OnPage("empty.just started", "It has only just started", page(OPEN, STARTED), page(OPEN, STARTED, ENDED)),
    OnPage(
        "empty.just started",
        "It has only just started",
        page(OPEN, STARTED, GOES, chapters=CHAPTERS),
        page(OPEN, STARTED, GOES, NEXT, A_SECOND_LATER, chapters=CHAPTERS),
    ),
    OnPage(
        "empty.just started",
        "It does sums.",
        page(OPEN, STARTED, GOES, NEXT, A_SECOND_LATER, chapters=CHAPTERS),
        page(OPEN, STARTED, GOES, NEXT, A_SECOND_LATER, ENDED, chapters=CHAPTERS),
    ),
    OnPage(
        "empty.silent",
        "Something was due from the machine, but nothing came",
        page(OPEN, STARTED, HEARD, SILENT),
        page(OPEN, STARTED, HEARD),
    ),
    OnPage(
        "tellTales",
        "What you should notice now beside the machine",
        page(OPEN, STARTED, *TURNED),
        page(OPEN, STARTED, *TURNED, LOST),
    ),
    OnPage(
        "tellTales",
        "What you would notice now beside a real machine",
        page(OPEN, STARTED, *TURNED, machine_is="simulated"),
        page(OPEN, STARTED, *TURNED),
    ),
    OnPage(
        "tellTaleConfirmed",
        "(we expect it, as a person confirmed a step by hand today at 09:00)",
        page(OPEN, STARTED, *TURNED),
        page(OPEN, STARTED, TURNED[1]),
    ),
    OnPage(
        "tellTaleConfirmed",
        "(in the simulation, today at 09:00)",
        page(OPEN, STARTED, TURNED_IN_IT, TURNED[1], machine_is="simulated"),
        page(OPEN, STARTED, *TURNED, machine_is="simulated"),
    ),
    OnPage(
        "consoleIsBehind",
        "In about 40 s: A list. Here it is behind “Show the console”.",
        page(OPEN, STARTED, GOES, phone=True, **LISTED),
        page(OPEN, STARTED, GOES, **LISTED),
    ),
    OnPage("consoleIsBehind", "Here it is behind", page(OPEN, STARTED, GOES, phone=True, **LISTED), ON_PHONE),
    OnPage("ahead", "In about 40 s: A list.", page(OPEN, STARTED, GOES), page(OPEN, STARTED, GOES, LOST)),
    OnPage("inSeconds", "In about 20 s", page(OPEN, STARTED, GOES, wait_s=18), page(OPEN, STARTED, GOES)),
    OnPage("inAMoment", "In a moment", page(OPEN, STARTED, GOES, wait_s=38), page(OPEN, STARTED, GOES)),
    # -- what is being done
    OnPage("happening", "What is happening", LIVE, page(OPEN, HEARD, sight=REPLAY)),
    OnPage("happened", "What was happening", page(OPEN, HEARD, sight=REPLAY), LIVE),
    OnPage("rows.now", "\nNow ", LIVE, page(OPEN, HEARD, sight=REPLAY)),
    OnPage("rows.then", "Then ", page(OPEN, HEARD, sight=REPLAY), LIVE),
    OnPage(
        "overdue",
        "The machine is taking longer than expected",
        page(OPEN, STARTED, late("wait on")),
        page(OPEN, STARTED, ASKED, late("wait on", waited_for=["a person to confirm"])),
    ),
    OnPage("session.not started", "No script has been started yet", page(OPEN), page(OPEN, STARTED)),
    OnPage("session.watched", "nothing is typed from here", page(OPEN, typing="nothing"), page(OPEN)),
    OnPage(
        "session.tidying",
        "A round: tidying up",
        page(OPEN, STARTED, TIDYING),
        page(OPEN, STARTED, TIDYING, BROKEN),
    ),
    OnPage("session.ended.done", "A round: done", page(OPEN, STARTED, ENDED), page(OPEN, STARTED, BROKEN)),
    OnPage(
        "session.ended.failed",
        "A round: could not be finished",
        page(OPEN, STARTED, BROKEN),
        page(OPEN, STARTED, ENDED),
    ),
    OnPage(
        "session.ended.stopped", "A round: stopped", page(OPEN, STARTED, STOPPED), page(OPEN, STARTED, ENDED)
    ),
    OnPage(
        "session.resting until",
        "A break; the next round starts at 09:10:00",
        page(OPEN, STARTED, ENDED, RESTING),
        page(OPEN, STARTED, ENDED, OVER),
    ),
    OnPage(
        "session.resting",
        "Nothing more is planned for now",
        page(OPEN, STARTED, STOPPED, OVER),
        page(OPEN, STARTED, ENDED, RESTING),
    ),
    OnPage(
        "session.resting, unopened",
        "\nNow Its day hasn’t begun yet",
        page(OPEN, UNOPENED, OVER),
        page(OPEN, STARTED, ENDED, LUNCH, OVER),
    ),
    OnPage(
        "session.resting, waits",
        "A break, until a person says that it goes on",
        page(OPEN, STARTED, ENDED, kinds.DayTurned(phase="nobody there", by="presence"), OVER),
        page(OPEN, STARTED, ENDED, OVER),
    ),
    OnPage(
        "session.failed",
        "Stopped at 09:00 until somebody has checked",
        page(OPEN, failed()),
        page(OPEN, failed(), CLOSED),
    ),
    OnPage(
        "session.closed.good order",
        "Ended in good order at 09:00",
        page(OPEN, STARTED, ENDED, CLOSED),
        page(OPEN, STARTED, BEGUN, ENDED, CLOSED),
    ),
    OnPage(
        "session.closed.failed",
        "after a failure, before anybody had checked",
        page(OPEN, failed(), CLOSED),
        page(OPEN, failed(), kinds.SessionCleared(by="x"), CLOSED),
    ),
    OnPage(
        "session.closed.left open",
        "nobody has seen whether everything started",
        page(OPEN, STARTED, CLOSED),
        page(OPEN, STARTED, ENDED, CLOSED),
    ),
    *(
        OnPage(
            f"restingBecause.{limit}",
            words,
            page(OPEN, refused(limit), OVER),
            page(OPEN, refused(limit), STARTED),
        )
        for limit, words in {
            "exercise in an hour": "its exercise for this hour",
            "exercise in a day": "its exercise for today",
            "exercise in a year": "its exercise for this year",
            "starts in a day": "started often enough for today",
            "disc errors": "the discs have made more errors today",
            "last round": "today’s last round is over",
            "closing time": "the museum is closing",
            "closed today": "the museum is closed today",
            "pack": "somebody must check a disc pack first",
            "original pack": "an original disc pack is in a drive",
            "part stopped": "a part that the rounds need has stopped",
        }.items()
    ),
    OnPage("lineErrors", "1 damaged character so far", page(OPEN, kinds.LineErrorsCounted(parity=1)), LIVE),
    OnPage("garbled", "1 command came back garbled", page(OPEN, STARTED, garbled()), page(OPEN, STARTED)),
    OnPage(
        "nearlyFull",
        "disc was full at 09:00: somebody has to free some space",
        page(OPEN, STARTED, FULL),
        page(OPEN, STARTED),
    ),
    OnPage(
        "nearlyFull",
        "disc was full at 09:00",
        page(OPEN, FULL, typing="nothing"),
        page(OPEN, typing="nothing"),
    ),
    OnPage(
        "handsOn",
        "Somebody has been asked to do this by hand",
        page(OPEN, STARTED, ASKED),
        page(OPEN, STARTED, ASKED, sight=REPLAY),
    ),
    OnPage("trouble", "Trouble noticed at 09:00", page(OPEN, TROUBLE), page(OPEN, TROUBLE, STARTED)),
    OnPage(
        "trouble",
        "At the machine itself: trouble noticed at",
        page(OPEN, TROUBLE, meanwhile=True),
        page(OPEN, TROUBLE),
    ),
    OnPage("printed", "last printed at 09:00:02", page(OPEN, HEARD), page(OPEN)),
    OnPage("nothingPrinted", "nothing printed yet", page(OPEN), page(OPEN, HEARD)),
    OnPage(
        "machineDate",
        "The machine’s program believes it is 1.1.1975",
        page(OPEN, DATE),
        page(OPEN, DATE, LOST),
    ),
    OnPage(
        "machineDate",
        "The machine’s program believes it is 1.1.1975",
        page(OPEN, DATE),
        page(OPEN, DATE, CLOSED),
    ),
    OnPage(
        "machineDate",
        "The machine’s program believes it is 1.1.1975",
        page(OPEN, DATE),
        page(OPEN, HEARD, DATE, SILENT),
    ),
    OnPage(
        "machineDate",
        "program believes it is 1.1.1975",
        page(OPEN, *OFF_AND_ON_AGAIN[:2], drawn=runs.DRAWN),
        page(OPEN, *OFF_AND_ON_AGAIN, drawn=runs.DRAWN),
    ),
    OnPage(
        "rows.date",
        "Its date",
        page(OPEN, *OFF_AND_ON_AGAIN[:2], drawn=runs.DRAWN),
        page(OPEN, *OFF_AND_ON_AGAIN, drawn=runs.DRAWN),
    ),
    OnPage(
        "machineDateThen",
        "The machine’s program believed it was 1.1.1975",
        page(OPEN, DATE, LOST),
        page(OPEN, DATE),
    ),
    *PICTURES,
]

LABEL = "labels something, or is a heading or a control"
READING = "gives a reading off the machine's display with its time: tests/pages/test_now.py"
GROUNDS = "says what a caption rests on: tests/decisions/page/test_views.py and tests/pages/test_access.py"
PART = (
    "is about a part, by what its folder or a person said: tests/pages/test_row_and_cards.py and test_wear.py"
)
GAME = "is about the pretend switches, which exist only on the page"
STATES_NOTHING = {
    "locale": LABEL,
    "dir": LABEL,
    "machineTranslated": LABEL,
    "badges.opening": "is about the page itself",
    "since.": LABEL,
    "aPart": LABEL,
    "noTitle": LABEL,
    "at": LABEL,
    "part": LABEL,
    "how": LABEL,
    "showLine": LABEL,
    "bytes": LABEL,
    "choices": LABEL,
    "textSize": LABEL,
    "sizes": LABEL,
    "secondLanguage": LABEL,
    "noSecond": LABEL,
    "facts": LABEL,
    "source": LABEL,
    "phone": LABEL,
    "phoneCode": LABEL,
    "row": LABEL,
    "trace": LABEL,
    "traceOfPrint": LABEL,
    "earlier": LABEL,
    "itself": LABEL,
    "lineSet": LABEL,
    "display": LABEL,
    "close": LABEL,
    "roundOf": LABEL,
    "caution": LABEL,
    "forDocent": LABEL,
    "console": LABEL,
    "shownAgain": "is tested with the folded lines: tests/pages/test_shown_again.py",
    "sideways": LABEL,
    "showConsole": LABEL,
    "figures": LABEL,
    "noFigures": LABEL,
    "languages": LABEL,
    "controls.": LABEL,
    "session.running": LABEL,
    "more": LABEL,
    "screenUnknown": "is tested with the screens: tests/pages/test_screens.py",
    "few.": "are tested with the scenes: tests/pages/test_scenes.py",
    "titles.asleep": "is tested with the scenes: tests/pages/test_scenes.py",
    "empty.asleep": "is tested with the scenes: tests/pages/test_scenes.py",
    "help.done": LABEL,
    "help.now": LABEL,
    "help.next": LABEL,
    "empty.other": "says what will be here, and nothing about the machine",
    "rows.": LABEL,
    **PICTURES_STATE_NOTHING,
    "inMinutes": "is tested with the other times ahead: tests/pages/test_hints_page.py",
    "grounds.": GROUNDS,
    "lineGone": GROUNDS,
    "jobs": READING,
    "listedAt": READING,
    "readAt": READING,
    "share": READING,
    "perMinute": READING,
    "transfers": READING,
    "errors": READING,
    "printedIs": READING,
    "traceIs": READING,
    "asOf": READING,
    "noRows": READING,
    "displayIs": PART,
    "states.": PART,
    "stateIs": PART,
    "packIn": PART,
    "ran": PART,
    "joined": PART,
    "onItsCable.": "says how the drawing is read: tests/pages/test_row_and_cards.py",
    "size": PART,
    "trySwitches": GAME,
    "switches": GAME,
    "switchesWhat": GAME,
    "switchesPretend": GAME,
    "switchGroup": GAME,
    "switchNamed": GAME,
    "pressStart": GAME,
    "switchesRight": GAME,
    "switchesWrong": GAME,
}
"""The words that need no scenario here, by their key or its beginning, and why."""


@pytest.fixture(scope="module")
def said(needs, tmp_path_factory) -> dict[int, str]:
    """What the page says in every scenario, by the scenario's identity."""
    scenarios = [shown for one in STATEMENTS for shown in (one.true_when, one.not_when)]
    texts = painted(scenarios, needs("node"), tmp_path_factory.mktemp("page"))
    return {id(shown): f"\n{text}\n" for shown, text in zip(scenarios, texts, strict=True)}


@pytest.mark.parametrize("statement", STATEMENTS, ids=lambda one: f"{one.key}: {one.says.strip()[:40]}")
def test_the_page_makes_a_statement_where_it_is_true_and_not_where_it_is_not(statement, said):
    assert statement.says in said[id(statement.true_when)]
    assert statement.says not in said[id(statement.not_when)]


def test_every_word_of_the_page_has_its_scenarios_or_states_nothing(needs, tmp_path: Path):
    keys = keys_of_words(needs("node"), tmp_path)
    stated = {one.key for one in STATEMENTS}

    def states_nothing(key: str) -> bool:
        return key in STATES_NOTHING or any(
            key.startswith(one) for one in STATES_NOTHING if one.endswith(".")
        )

    assert [key for key in keys if key not in stated and not states_nothing(key)] == []
    assert stated - set(keys) == set()
    assert [one for one in STATES_NOTHING if not any(key == one or key.startswith(one) for key in keys)] == []
