"""Every statement about machine and day on the docent's page: in which states it is made, and in no other."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.pages.desk_states import ALL_BY_HAND, STATES, WAIT, hand_step
from tests.pages.fake_desk import FakeDesk
from tests.statements.desk_in_node import ran_in_node

IDLE = {"rounds", "resting", "engineer", "emergencies", "gone-on", "tidying-when-done"}
HELD_BEFORE = {"held-since-yesterday", "held-since-before-restart"}
HELD = {"held", "held-again", "held-silent"} | HELD_BEFORE
UNHEARD = {"silent-away", "silent-in-closing", "held-silent"}
"""The machine is silent, and how it goes on is for a person to say."""
SLOW = {"slow", "slow-again"}
SILENT_SLOW = {"silent-slow", "silent-slow-again"}
NEEDED = SILENT_SLOW | {"silent", "silent-in-opening"} | UNHEARD
TRIED = {"stopping-silent", "hands-off-silent"}
ASKED_AGAIN = {"hands-on-after", "put-off-answered"} | {
    "hands-on",
    "put-off",
    "put-off-by-machine",
    "panel",
    "begun-again",
    "practice",
}
WITH_HANDS = ASKED_AGAIN | {"hands-on-then-stop", "hands-on-then-once-more", "hands-on-before"}
LATE_AT_CONSOLE = {"late-console", "late-after-hands"}
LATE = LATE_AT_CONSOLE | {"late-hand", "late-nothing"}
DATES = {"date", "date-then-left-out"}
IN_STEP = {"trouble-in-step", "trouble-at-switches"}
IN_OPENING = {*WITH_HANDS, *DATES, *IN_STEP, *LATE, "opening"}
TROUBLED = {"trouble", *IN_STEP, "trouble-typing-held"}
SEEN = {"troubles", "failed-after-trouble"}
LACKED = {"failure", "failure-again", "failure-when-over", "failed-after-trouble"}
RUNNING = {
    "rounds",
    "quiet-after",
    "tidying",
    "tidying-when-done",
    "gone-on",
    "opening",
    "closing",
    "closing-comes",
    *SLOW,
    "closed-by-limits",
    "troubles",
    "emergencies",
}
SILENT = (
    {
        "silent",
        "failed-silent",
        "failed-hands-off",
        "failed-in-tidy-up",
        "stopping-silent",
        "hands-off-silent",
    }
    | UNHEARD
    | SILENT_SLOW
)
OPEN_FAILURES = {"failure", "failure-again", "failed-held-up", "failed-silent", "failed-hands-off"} | {
    "failed-after-trouble",
    "failed-in-tidy-up",
}
FAILURES = OPEN_FAILURES | {"failure-in-closing", "failure-at-hands", "failure-when-over"}
OPENS_AGAIN = {"stopped-in-opening", "silent-in-opening", "stopped-with-nothing-done"}
STOPPED_IN = {"stopped-in-opening", "stopped-in-closing", "stopped-at-hands", "stopped-with-nothing-done"}
BEGUN_AGAIN = {"stopped-in-closing", "silent-in-closing"}
NOT_DONE = {"given-up", "given-up-early", "over-left-out", "over-before-restart"}
"""The day is over, and not every step by hand of its closing was confirmed."""
DONE = {"over", "over-off", "over-by-limits", "over-after-held"}
CLOSES = (
    set(STATES)
    - {
        "not-started",
        "starting",
        "closing",
        "closing-comes",
        "closed-by-limits",
    }
    - DONE
    - NOT_DONE
    - FAILURES
)
LOST = {"bridge-gone", "link-lost"}
OVER = DONE | NOT_DONE

SAID: dict[str, tuple[str, set[str]]] = {
    "lost.bridge": ("The program that talks to the machine has stopped", {"bridge-gone"}),
    "lost.link": ("The link to the machine is lost", {"link-lost"}),
    "lost.notStarted": ("Nothing has been started at the machine today", {"not-started"}),
    "lost.start": ("as soon as the program that talks to the machine has been started", {"not-started"}),
    "lost.nothingTyped": ("Nothing is typed now. The machine itself goes on", {"bridge-gone"}),
    "lost.seen": ("What you see is from 09:55", LOST),
    "lost.cable": ("Pull no cable and push none in: this computer keeps trying by itself", {"link-lost"}),
    "lost.card": ("take the printed card", {"bridge-gone"}),
    "stop.tidying up": ("What was started is being stopped", {"stopping", "tidying"}),
    "stop.left": ("At most 14 steps are left. That takes at most", {"stopping"}),
    "stop.handsOff": ("Hands off: nothing more is typed.", {"hands-off", "hands-off-silent"}),
    "stop.tries": ("The program tries to stop what it started.", {"stopping-silent"}),
    "stop.standing": ("On the console stands “STOP JOB 1”", {"hands-off"}),
    "stop.mayRun": (
        "may still be running", {"hands-off", "failed-hands-off", "hands-off-silent", "given-up-early"}
    ),
    "trouble.kind": ("Trouble since 09:", TROUBLED),
    "trouble.nothingTyped": ("Nothing more is typed until somebody has looked", set()),
    "stop.names": ("A step that finds nothing to do is left out", {"stopping"}),
    "handsOn.again": ("This was done at 09:12, but the script has begun again", {"begun-again"}),
    "handsOn.already": ("Done, or already so", {"begun-again"}),
    "handsOn.call": ("If you haven’t been shown it, or need help, call: ", WITH_HANDS),
    "handsOn.practice": ("no lamp, switch or sound can be seen or heard here", {"practice"}),
    "silent.kind": ("Needs you\n", NEEDED),
    "silent.says": ("The machine is silent.\n", NEEDED | TRIED),
    "silent.since": ("Nothing has come from it since 09:5", SILENT),
    "silent.look": ("Look whether its lamps are lit", SILENT | {"silent-in-opening"}),
    "silent.power": ("If the power has failed, press “Stop typing”", {"silent", "silent-away"} | SILENT_SLOW),
    "silent.slow": ("do nothing: the step “tides table” ", SILENT_SLOW),
    "silent.powerOnly": (
        "If the power has failed, do what", {"silent-in-opening", "silent-in-closing", "held-silent"}
    ),
    "silent.typesNothing": (
        "If you don’t know why the machine is silent, call",
        {"silent-in-opening", "silent-in-closing", "held-silent"},
    ),
    "silent.unfinished.opening": ("If the machine was never switched on", {"silent-in-opening"}),
    "silent.unfinished.closing": (
        "The closing isn’t finished: don’t leave the machine alone", {"silent-in-closing"}
    ),
    "failure.handsOff": ("Docent 1 said hands off. Somebody has to look", {"failed-hands-off"}),
    "stoppedIn.kind": ("It is for you to say how it goes on", STOPPED_IN | {"stopped"}),
    "stoppedIn.opening.label": ("Begin the opening again\n", OPENS_AGAIN),
    "stoppedIn.opening.does": (
        "It begins with its first step. What is already so", OPENS_AGAIN
    ),
    "stoppedIn.opening.detail": ("What you have switched on is still on", {"stopped-in-opening"}),
    "stoppedIn.closing.label": ("Begin the closing again\n", {"stopped-in-closing", "silent-in-closing"}),
    "stoppedIn.closing.does": ("finds out what state the console is in. If it can begin from", BEGUN_AGAIN),
    "stoppedIn.goesOn.label": ("Go on with the closing where it stopped\n", {"stopped-at-hands"}),
    "stoppedIn.goesOn.does": ("Only steps by hand are left of it. Nothing is typed.", {"stopped-at-hands"}),
    "stoppedIn.nothingDone.detail": ("Nobody has done anything in this", {"stopped-with-nothing-done"}),
    "stoppedIn.closing.detail": (
        "What hasn’t been switched off is still on",
        STOPPED_IN - {"stopped-in-opening", "stopped-with-nothing-done"},
    ),
    "phases.atStep": ("The step “tides table” has run since 09:55. It has until 09:58. If", {"slow"}),
    "handsOn.before": ("The step before isn’t done\n", {"hands-on-after"}),
    "late.before": ("Was this really done? If not, do it now, one after", {"late-after-hands"}),
    "late.beforeUnknown": ("Was each step by hand before this really done?", {"late-nothing"}),
    "putOff.answered": ("The machine has printed something since then", {"put-off-answered"}),
    "phases.finishing": ("Round 4 is being finished; then the closing begins, with 4 s", {"closing-comes"}),
    "anew.label": ("The power was off: begin the opening\n", OPEN_FAILURES),
    "anew.when": ("the keyholder has to agree", OPEN_FAILURES),
    "troubles.slow": ("Takes long, though not too long yet", SLOW),
    "next.over": ("The end of the day, when the closing is done", {"closing", "closed-by-limits"}),
    "trouble.stepWaits": ("The step by hand waits meanwhile", IN_STEP),
    "trouble.goesOn": ("What is running goes on meanwhile", {"trouble", "trouble-typing-held"}),
    "trouble.safe.unknown": ("Stay at the machine until somebody else takes over: ", TROUBLED | SEEN),
    "handsOn.timeUp.ask": ("If the time runs out, you are asked what to do", ASKED_AGAIN | {"date"}),
    "handsOn.timeUp.stop": ("out, the script ends here and tidies up", {"hands-on-then-stop"}),
    "handsOn.timeUp.wait on": ("you get the same time once more", {"hands-on-then-once-more"}),
    "handsOn.timeUp.leave out": ("out, this step is left out", {"date-then-left-out"}),
    "handsOn.timeUp.unknown": ("out, this page says how it goes on", {"hands-on-before"}),
    "handsOn.step": (" of 8, by hand", WITH_HANDS),
    "handsOn.date": ("A question about the date", DATES),
    "putOff.too early": ("It was done too early", {"put-off"}),
    "putOff.shown": ("The machine showed that it has to be done again. If you have", {"put-off-by-machine"}),
    "late.kind": ("This takes longer than it should", LATE),
    "late.says": ("We are waiting for: tidebook date", {"late-console"}),
    "late.seen.nobody confirmed": ("Nobody has said that it is done", {"late-hand"}),
    "late.seen.nothing": ("Nothing has come from the machine.\n", {"late-nothing"}),
    "late.seen.quiet": ("The machine has printed nothing more for a while", LATE_AT_CONSOLE),
    "late.waitOnDoes": ("The step gets ", LATE),
    "failure.kind": ("Stopped at 09:5", FAILURES),
    "failure.says": ("Somebody has to look at the machine.\n", FAILURES),
    "failure.why": ("What happened: the board was waited for", LACKED),
    "failure.timesSame": ("This has now happened twice in a row", {"failure-again"}),
    "failure.look": ("Nothing more is typed. Look at the machine", FAILURES),
    "keys.kind": ("Somebody types at the console", {"keyboard", "at-the-keys"}),
    "keys.taken": ("Engineer 2 has the keyboard", {"keyboard", "at-the-keys"}),
    "keys.nothingElse": ("No script types meanwhile", {"keyboard", "at-the-keys"}),
    "phases.kind": (
        "Nothing waits for you",
        IDLE | {"starting", "not-started", "troubles"} | SLOW,
    ),
    "phases.kinds.away": ("The rounds wait until you are back", {"away"}),
    "phases.kinds.quiet": ("Time for your talk", {"quiet", "quiet-after"}),
    "phases.quiet.saysAfter": ("Quiet after this round, until 10:0", {"quiet-after"}),
    "phases.seeking.says": ("The program is finding out how the machine stands.", {"seeking"}),
    "phases.tidying.kind": ("Something didn’t go as planned\n", {"tidying"}),
    "phases.tidying.says": ("What was started is being stopped.\nNow: ", {"tidying"}),
    "trouble.printedAt": ("It last printed something at 09:55", {"trouble-typing-held"}),
    "phases.kinds.nobody there": ("The rounds wait for somebody", {"nobody-there"}),
    "before.hands": ("The opening has 8 steps by hand. Each is for somebody who has", {"before-opening"}),
    "before.call": ("If you don’t know who that is, call: ", {"before-opening"}),
    "before.twoPeople": ("Who has to be there: One person is enough", {"before-opening", "away"}),
    "phases.kinds.before opening": ("Before the day begins\n", {"before-opening"}),
    "phases.kinds.opening": (
        "It goes on by itself\n", {"opening", "closing", "closing-comes", "closed-by-limits", "seeking"}
    ),
    "phases.kinds.over": ("Before you leave", OVER),
    "held.kind": ("The rounds wait for a person, since 09:5", {"held", "held-again"}),
    "reasons.partStopped": ("stopped, though no step asked for that: Lower", HELD | {"over-after-held"}),
    "held.waits": ("No round begins until somebody has seen to this.", HELD),
    "held.again": ("The program looked again at 09:55, and it is still so.", {"held-again"}),
    "held.look": ("Don’t start a part again that stopped by itself", HELD),
    "reasons.noLeave": ("What happened: the machine let nothing be typed, for longer", {"failed-held-up"}),
    "reasons.beforeMidnight": ("Lower disc drive; so it was before midnight.", {"held-since-yesterday"}),
    "reasons.asBefore": (
        "Lower disc drive; so it was before the program was started again.", {"held-since-before-restart"}
    ),
    "trouble.printed": ("The machine said: “== LOWER STOPPED ==”", {"trouble", "trouble-in-step"}),
    "failure.closingGoesOn": ("somebody has looked and says so here, it goes on", {"failure-at-hands"}),
    "failure.clearGoesOn": ("The closing goes on where it stopped. Nothing", {"failure-at-hands"}),
    "failure.closing": ("That begins when somebody has looked and says so here", {"failure-in-closing"}),
    "phases.runs": ("Now: ", RUNNING),
    "phases.rests": ("A rest. The next round begins at ", {"resting", "engineer"}),
    "phases.starting.says": ("The program that talks to the machine is starting.", {"starting"}),
    "phases.starting.detail": ("this page goes on by itself", {"starting"}),
    "phases.because": ("Because: the discs made 61 errors today", {"closed-by-limits", "over-by-limits"}),
    "phases.noMore": ("no round can begin any more today", {"over-by-limits"}),
    "phases.before opening.says": ("The machine hasn’t been started today", {"before-opening"}),
    "phases.opening.says": ("The machine is being started.", {"opening"}),
    "phases.rounds.says": ("The rounds run by themselves.\n", IDLE | {"troubles"} | SLOW),
    "phases.away.says": ("No round begins until you are back.\n", {"away"}),
    "phases.away.atRest": ("No round runs now. Somebody stays near", {"away"}),
    "acts.away.does": (
        "if you are alone, stay, or close first",
        IDLE | {"quiet", "quiet-after", "tidying", "seeking", "troubles"} | SLOW | SILENT_SLOW,
    ),
    "phases.quiet.says": ("Quiet until 10:0", {"quiet"}),
    "phases.quiet.atRest": ("For a longer talk, press “Quiet” once more", {"quiet"}),
    "phases.over.held": ("Today the rounds had to wait: this part stopped", {"over-after-held"}),
    "phases.wentOn": ("the link to the machine was lost. The rounds have gone on since", {"gone-on"}),
    "phases.nobody there.says": ("The rounds rest, because nobody has touched", {"nobody-there"}),
    "phases.stopped.says": ("Somebody has said stop", {"stopped"} | STOPPED_IN),
    "phases.closing.says": ("The machine is being shut down.", {"closing", "closed-by-limits"}),
    "phases.over.says": ("The day is over.\n", DONE),
    "phases.over.notDone": ("As far as this page knows, not all of the closing was done", NOT_DONE),
    "phases.over.dark": ("Is every lamp dark and nothing turning? If not, call: In this demonstration", DONE),
    "phases.over.looked": ("The machine was looked at\n", {"given-up", "given-up-early"}),
    "todo.head": ("Still to do by hand", NOT_DONE | {"failure-in-closing", "failure-at-hands"}),
    "todo.untyped": (
        "wasn’t all typed. Call", {"given-up-early", "over-before-restart", "failure-in-closing"}
    ),
    "phases.over.closed": ("The closing has run to its end", DONE | {"over-left-out"}),
    "phases.over.off": ("the machine is off: each part whose start it saw has been stopped", {"over-off"}),
    "next.opening": ("The opening, when you start the day", {"before-opening"}),
    "next.rounds": ("Then the rounds begin by themselves", IN_OPENING),
    "next.round": ("The next round, at ", {"resting", "engineer"}),
    "next.looked": ("Nothing, until somebody has looked", FAILURES),
    "next.closes": ("The museum closes at 17:00", CLOSES),
    "troubles.states.needs you": ("Needs you, since ", TROUBLED | {"silent"} | UNHEARD | TRIED | SILENT_SLOW),
    "troubles.states.seen": ("Seen, since ", {"troubles", "failed-after-trouble"}),
    "troubles.states.set aside": ("Set aside until ", {"troubles", "failed-after-trouble"}),
    "done.unfinished": (
        "A round was ",
        (FAILURES - {"failure-at-hands"}) | {"stopped", "given-up-early", "gone-on", "seeking"}
    ),
    "left.minutes": ("Time left: 10 minutes", WITH_HANDS | DATES),
}  # fmt: skip
"""By the name of its words: what is said, and the states in which it is."""
ELSEWHERE = {
    "early": "tests/pages/test_desk_in_sight.py", "more": "tests/pages/test_desk_in_sight.py",
    "phases.over.lookedDoes": "beside its label",
    "phases.kinds.closing": "like `phases.kinds.opening`", "phases.seeking.kind": "the same",
    "held.label": "OFFERED", "held.does": "beside its label",
    "trouble.letGo": "OFFERED", "trouble.letGoDoes": "beside its label",
    "trouble.safe.yes": "like `unknown`", "trouble.safe.no": "like `unknown`",
    "undone.kind": "tests/pages/test_desk_page.py", "undone.now": "tests/pages/test_desk_page.py",
    "undone.andBefore": "tests/pages/test_desk_page.py",
    "undone.done": "tests/pages/test_desk_page.py", "undone.doneDoes": "beside its label",
    "stoppedIn.badge": "tests/pages/test_desk_page.py",
    "lost.desk": "tests/pages/test_desk_page.py",
    "lost.practiceEnded": "tests/pages/test_desk_in_sight.py",
    "lost.practiceEndedSays": "tests/pages/test_desk_in_sight.py",
    "lost.practiceAgain": "tests/pages/test_desk_in_sight.py",
    "putOff.not yet": "like `too early`", "putOff.didn't": "like `too early`",
    "late.seen.still printing": "tests/decisions/desk", "late.seen.its prompt": "tests/decisions/desk",
    "late.seen.another prompt": "tests/decisions/desk",
    "stop.asked": "until the tidy-up begins", "stop.nothingLeft": "a script without a tidy-up",
    "phases.closingNext": "until the closing begins", "next.closing": "tests/decisions/desk",
    "phases.silent": "the visitors' badge `silent`", "troubles.states.over": "tests/decisions/desk",
    "next.rest": "the visitors' day",
    "left.seconds": "tests/pages/test_desk_page.py", "left.over": "its time is up",
    "handsOn.kind": "a step that the folder's script doesn't list",
    "troubles.none": "an empty list", "troubles.elsewhere": "tests/pages/test_desk_page.py",
    "printed": "an empty console", "next.none": "an empty list",
    "nobody.kind": "tests/pages/test_desk_page.py", "nobody.says": "tests/pages/test_desk_page.py",
}  # fmt: skip
"""Statements that no picture here makes, and what shows when they are made."""
STATE_NOTHING = (
    "title", "signedIn.", "sound.", "signOut", "close", "console", "caution", "sent", "refused", "notSent",
    "lines", "lost.kind", "stop.label", "stop.does", "stop.mains", "stop.kind", "stop.handsOffLabel",
    "stop.handsOffDoes", "sure.", "refuse.", "trouble.do", "trouble.calls.", "trouble.seen", "trouble.over",
    "trouble.aside", "trouble.why", "trouble.minutes", "handsOn.yes", "handsOn.no", "handsOn.done",
    "handsOn.doneDoes", "handsOn.didnt",
    "stop.handsOffSilent", "anew.sure", "anew.first", "anew.does", "anew.agreed", "reasons.",
    "stoppedIn.before opening.", "stoppedIn.over.", "handsOn.tooEarly", "handsOn.cannot", "panel.",
    "late.or", "late.advice.", "late.waitOn",
    "late.moreTime", "late.leaveOut", "late.isPrompt", "failure.clear", "failure.closeDoes", "failure.byHand",
    "acts.",
    "next.head", "troubles.head", "mayRun.", "keys.take", "keys.giveBack", "keys.label",
    "keys.send", "keys.sure",
    "notes.", "done.", "emergency.", "practised", "glance.",
)  # fmt: skip
"""How the names of labels, headings and advice begin; for `glance.` see test_glance.py."""


def picture(desk: FakeDesk) -> dict[str, Any]:
    answer = desk.answer({"stream": "", "after": 0, "news": 0})
    given = {"items": answer["picture"]["items"], "badge": answer["badge"], "bridge": answer["bridge"]}
    return {
        **given,
        "printedAt": answer["picture"].get("printed_at", ""),
        "signedIn": answer["signed_in"],
        "at": answer["picture"]["at"],
        "alone": False,
        "opened": None,
    }


@pytest.fixture(scope="module")
def page(needs: Any, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """What the page says in each state, and the names of its words."""
    script = Path(__file__).with_name("desk_said.mjs")
    given = [picture(make()) for make in STATES.values()]
    told: dict[str, Any] = ran_in_node(needs.node(), script, tmp_path_factory.mktemp("desk"), given)
    return {**told, "by_state": dict(zip(STATES, told["said"], strict=True))}


@pytest.mark.parametrize("key", SAID)
def test_a_statement_is_made_where_it_is_true_and_nowhere_else(key: str, page: dict[str, Any]) -> None:
    says, where = SAID[key]
    assert {state for state, said in page["by_state"].items() if says in said} == where


OFFERED = {
    "Round now": {"resting", "engineer", "quiet", "nobody-there"},
    "No further round begins. When somebody has looked": OPEN_FAILURES,
    "Let go: type all the same\n": {"trouble-typing-held"},
    "It was seen to: go on": HELD,
    "Close by hand\nThe day ends here": {"failure-in-closing", "failure-at-hands"},
    "Start the day\n": {"before-opening"},
    "Start the day again\n": {"over", "over-off", "over-after-held", "over-left-out", "over-before-restart"},
}
"""What is offered, and the states in which it can be had."""


@pytest.mark.parametrize("label", OFFERED)
def test_only_what_can_be_had_is_offered(label: str, page: dict[str, Any]) -> None:
    assert {state for state, said in page["by_state"].items() if label in said} == OFFERED[label]


def test_a_reason_with_a_mark_of_its_own_gets_no_second_one(page: dict[str, Any]) -> None:
    assert "is a cable unplugged?\n" in page["by_state"]["failure-in-closing"]


def test_what_is_left_of_a_closing_is_listed_in_order_each_with_its_caution(page: dict[str, Any]) -> None:
    for state in ("failure-at-hands", "given-up"):
        said = page["by_state"][state]
        listed = said[said.index("Still to do by hand") :].split("\n")[1:4]
        words = [hand_step(step, "closing").words["en"] for step in ALL_BY_HAND[1:]]
        assert [line.split(" Take care: ")[0] for line in listed] == words
        assert all(len(line.split(" Take care: ")[1]) > 10 for line in listed)


def test_a_closing_that_was_given_up_asks_nobody_to_go_on(page: dict[str, Any]) -> None:
    for state in ("given-up", "given-up-early"):
        said = page["by_state"][state]
        assert "go on" not in said
        assert "Somebody has to look at the machine" not in said
        assert "Call: In this demonstration" in said


ENGLISH = (
    "silent: is it",
    "did not come in time",
    "XON",
    "said stop",
    "tidy-up",
    "errors today",
    "where the console",
)
"""What stands in the reasons of recordings, which are English."""


def test_the_reasons_that_docents_meet_are_in_the_pages_language(page: dict[str, Any]) -> None:
    german = dict(zip(STATES, page["in_german"], strict=True))
    assert "Die Maschine ist still. Ist sie aus" in german["failure-in-closing"]
    assert "61 Fehler gemacht" in german["closed-by-limits"]
    assert [(state, words) for state, said in german.items() for words in ENGLISH if words in said] == []


def test_what_a_trouble_wants_done_stays_until_it_is_over(page: dict[str, Any]) -> None:
    for state in ("troubles", "failed-after-trouble"):
        said = page["by_state"][state]
        assert "Do this: Don’t open it. Look at its front" in said
        assert "Spinning discs." in said
        assert "Stay at the machine until somebody else takes over" in said


def test_a_closing_that_waits_for_its_round_is_announced_and_one_that_runs_is_not_over(
    page: dict[str, Any],
) -> None:
    assert "The machine is being shut down." not in page["by_state"]["closing-comes"]
    assert "\nThe closing\n" in page["by_state"]["closing-comes"]


def test_after_a_stop_no_rounds_are_promised_that_there_were_not(page: dict[str, Any]) -> None:
    for state in STOPPED_IN:
        assert "ounds go on" not in page["by_state"][state]
        assert "After the round that runs" not in page["by_state"][state]
        assert "Nothing waits for you" not in page["by_state"][state]


def test_after_a_stop_at_a_silent_machine_nothing_calm_or_untrue_is_said(page: dict[str, Any]) -> None:
    said = page["by_state"]["stopping-silent"]
    assert "Call: " in said
    for untrue in ("is being stopped", "That takes at most", "goes on", "Nothing waits for you"):
        assert untrue not in said


def test_whom_to_call_stands_before_the_reason_of_a_failure(page: dict[str, Any]) -> None:
    for state in FAILURES:
        said = page["by_state"][state]
        assert said.index("Call: ") < said.index("What happened: ")


def test_where_nothing_ever_came_it_is_said_that_one_may_stop_and_whom_to_call(page: dict[str, Any]) -> None:
    said = page["by_state"]["late-nothing"]
    assert "Was each step by hand before this really done?" in said
    assert "press “Stop typing” and call.\nCall: " in said


def test_a_late_step_asks_first_for_the_steps_by_hand_before_it_with_their_cautions(
    page: dict[str, Any],
) -> None:
    said = page["by_state"]["late-after-hands"]
    assert "Load a pack only when the drive has stopped." in said
    assert "Spinning discs." in said
    asked = said.index("then wait on:\n1. Load the pack SALLOW 2")
    assert (
        asked < said.index("\n2. Start the LOWER drive.") < said.index("The machine has printed nothing more")
    )


def test_what_the_machine_showed_asks_for_no_repeat_once_it_goes_on(page: dict[str, Any]) -> None:
    said = page["by_state"]["put-off-answered"]
    assert "press “Done” and don’t do it twice" in said
    for untrue in ("has to be done again", WAIT["en"]):
        assert untrue not in said
        assert untrue in page["by_state"]["put-off-by-machine"]


def test_a_silent_machine_in_a_slow_step_asks_for_nothing_else_with_a_second_voice(
    page: dict[str, Any],
) -> None:
    said = page["by_state"]["silent-slow"]
    assert "the step “tides table” has until 09:58, and then this page says" in said
    assert "though not too long yet" not in said
    for act in ("Quiet for 10 minutes, for a talk", "We go to lunch; somebody stays", "Close for today"):
        assert f"\n{act}\n" in said
    assert "Round now" not in said


def test_a_step_that_got_its_time_once_more_is_said_to_have(page: dict[str, Any]) -> None:
    assert "since 09:55. It was given its time once more, until 10:00. If" in page["by_state"]["slow-again"]
    assert "was given its time once more, until 10:00" in page["by_state"]["silent-slow-again"]


@pytest.mark.parametrize(
    ("state", "way_on"),
    [
        ("silent-in-opening", "Begin the opening again"),
        ("silent-in-closing", "Begin the closing again"),
        ("silent-away", "We are back"),
        ("held-silent", "It was seen to: go on with the rounds"),
    ],
)
def test_a_silent_machine_leaves_a_way_on(page: dict[str, Any], state: str, way_on: str) -> None:
    assert f"\n{way_on}\n" in page["by_state"][state]
    assert "Round now" not in page["by_state"][state]


def test_a_trouble_of_unknown_beginning_names_no_time(page: dict[str, Any]) -> None:
    assert "\nNeeds you\n" in page["by_state"]["silent-in-opening"]
    assert "since \n" not in page["by_state"]["silent-in-opening"]


def test_what_a_trouble_wants_set_again_is_drawn(page: dict[str, Any]) -> None:
    said = page["by_state"]["trouble-at-switches"]
    assert "Do this: Set them to 14000200 and press START again." in said
    assert "Drawn: Set the switches to 14000200." in said
    assert "Drawn: Press" not in said
    assert "Drawn: " not in page["by_state"]["trouble-in-step"]


def test_how_long_a_round_still_takes_is_said_by_those_before_it(page: dict[str, Any]) -> None:
    assert "round 4. It takes about 3 more minutes." in page["by_state"]["rounds"]
    for state in ("opening", "tidying"):
        assert "more minute" not in page["by_state"][state]


def test_what_was_held_before_midnight_has_no_time_but_says_what_to_see_to(page: dict[str, Any]) -> None:
    for state in HELD_BEFORE:
        assert "The rounds wait for a person\n" in page["by_state"][state]
        assert "\nThis part stopped" in page["by_state"][state]


def test_a_label_is_not_said_twice(page: dict[str, Any]) -> None:
    assert "The rounds can go on\nThe rounds go on." not in page["by_state"]["quiet"]


def test_every_statement_is_held_to_its_states(page: dict[str, Any]) -> None:
    stated = [key for key in page["keys"] if not key.startswith(STATE_NOTHING)]
    details = [key for key in stated if key.startswith("phases.") and key.endswith(".detail")]
    assert set(stated) - set(details) - set(SAID) - set(ELSEWHERE) == set()
    assert (set(SAID) | set(ELSEWHERE)) - set(page["keys"]) == set()


def test_german_has_all_that_english_has(page: dict[str, Any]) -> None:
    assert page["german"] == page["keys"]
