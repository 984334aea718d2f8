"""The reasons that are given on a day that people run: where each is true, and where it must not be given."""

from __future__ import annotations

from collections.abc import Callable

import msgspec

from exhibit.decisions.machine.wear_rules import Limits
from exhibit.facts import kinds
from tests.decisions.driver import Driver
from tests.decisions.heron import MACHINE, XOFF_LIMITED, S, command, folder, hands_on, machine, pause, script
from tests.decisions.heron import wait as waits_for
from tests.decisions.one_round import one_round
from tests.decisions.session import test_by_hand, test_keyboard, test_limits, test_troubles
from tests.decisions.session.day import (
    CLOSING,
    FINDS_HOME,
    IN_PHASE,
    MIN,
    OPENING,
    day,
    in_round,
    next_day,
    opening,
    phase,
    ran,
    restarted,
    resting,
    then,
)
from tests.decisions.session.test_homing import described, started
from tests.decisions.session.test_session import asked_about_the_date
from tests.statements.driven import reasons
from tests.statements.told_cases import Said, Statement

CLOSES_AT_TEN = Limits(closes_min=10 * 60, last_round_min=9 * 60 + 30)
AFTER_HOURS = kinds.Heartbeat(wall="2026-11-25T09:31:00+00:00")
A_NOTE = "0" * 64
TIDY_UP = (command("leave", "leave", "ready"), command("off", "off", "ready"))


def all_said(driver: Driver) -> str:
    """Every reason, and what else is said of the day, of a trouble, and of a step to be done again."""
    found = [reasons(driver)]
    for fact in driver.facts():
        match fact:
            case kinds.DayTurned(by=by):
                found.append(f"By: {by}")
            case kinds.TroubleOver(how=how):
                found.append(how)
            case kinds.HandsOnPutOff(words=words):
                found += words.values()
    return "\n".join(found)


def on(come_to: Callable[[], Driver], *requests: str) -> Said:
    """A day that has come so far, on which these are then asked for."""
    return lambda: all_said(then(come_to(), *requests))


def in_phase(name: str, *requests: str) -> Said:
    """A day in this phase, between two scripts, on which these are then asked for."""
    return on(IN_PHASE[name], *requests)


def that(act: Callable[[], Driver]) -> Said:
    """Whatever this does."""
    return lambda: all_said(act())


def failed_in_a_round() -> Driver:
    driver = in_round()
    driver.prints(b"DRIVE LEFT FAILED\r\n")
    assert driver.over == "failed"
    return driver


def a_stopped_opening() -> Driver:
    return then(opening(), "stop")


def quiet_for(minutes: int) -> Said:
    def act() -> Driver:
        driver = resting()
        driver.asks("quiet", minutes=minutes)
        return driver

    return that(act)


def quiet_is_over() -> Driver:
    driver = IN_PHASE["quiet"]()
    driver.run(lambda: phase(driver) == "rounds")
    return driver


# -- where the console is found out about


def seeking(*requests: str, until: type | None = None) -> Said:
    """The opening was asked for at a machine about which the program is finding out; then these are asked."""

    def act() -> Driver:
        driver = then(day(FINDS_HOME), "open")
        driver.stands(b"READY: ")
        then(driver, *requests)
        if until is not None:
            driver.run(lambda: bool(driver.facts(until)))
        return driver

    return that(act)


def sought_for_something_else(*requests: str) -> Said:
    """Found for an opening; what is wanted by then may begin elsewhere."""

    def act() -> Driver:
        begins = {"opening": ("silent",), "round": ("signed-out",), "closing": ("word-wanted",)}
        way = msgspec.structs.replace(FINDS_HOME.way_home, begins=begins)
        driver = then(day(FINDS_HOME, way_home=way), "open")
        driver.stands(b"READY: ")
        then(driver, *requests)
        driver.run(lambda: bool(driver.facts(kinds.PlaceRecognised)))
        return driver

    return that(act)


def nobody_then(sign: str, why: str) -> Said:
    """The line was lost and came back while nobody was there; then somebody gives this sign."""

    def act() -> Driver:
        driver = then(day(FINDS_HOME, presence_us=MIN), "open")
        driver.stands(b"READY: ")
        driver.run(lambda: phase(driver) == "nobody there")
        driver.lose_line()
        driver.open_line()
        driver.asks(sign, why=why)
        driver.note(kinds.Heartbeat(wall="2026-11-25T09:05:00+00:00"))
        return driver

    return that(act)


def an_opening_left_out() -> Driver:
    driver = then(day(FINDS_HOME), "open")
    driver.stands(b"READY: ")
    driver.run(lambda: "round 1" in ran(driver))
    return driver


# -- hours, limits, presence


def after_hours(come_to: Callable[[], Driver]) -> Said:
    def act() -> Driver:
        driver = come_to()
        driver.now_us += 31 * MIN
        driver.note(AFTER_HOURS)
        return driver

    return that(act)


def away_after_hours() -> Driver:
    return then(resting(day(limits=CLOSES_AT_TEN)), "away")


def stopped_before_opening() -> Driver:
    """A restart broke off the opening, and its tidy-up was stopped: no closing is to follow that."""
    begins = {"opening": ("signed-out",), "round": ("signed-out",)}
    typing = script("opening", command("go", "go", "begun"), tidy_up=(command("end", "end", "ready"),))
    way = msgspec.structs.replace(FINDS_HOME.way_home, begins=begins)
    where = msgspec.structs.replace(
        folder(typing, script("round", pause("look", 30 * S)), CLOSING, machine=FINDS_HOME.machine),
        way_home=way,
        limits=CLOSES_AT_TEN,
    )
    before = then(day(where), "open")
    before.stands(b"READY: ")
    before.run(lambda: "opening" in ran(before))
    driver = then(restarted(before, where, limits=CLOSES_AT_TEN), "stop")
    assert phase(driver) == "stopped"
    return driver


def until_held(round_: object, limits: Limits) -> Said:
    """A day whose first round may not begin."""

    def act() -> Driver:
        where = folder(OPENING, round_, CLOSING, machine=test_limits.HERON, rest_us=60 * S)  # type: ignore[arg-type]
        driver = then(day(where, limits=limits), "open")
        if limits.errors_a_day is not None:
            test_limits.disc_errors(driver, limits.errors_a_day + 1)
        driver.asks("confirm", "key")
        return driver

    return that(act)


def a_part_stands() -> Driver:
    driver = test_limits.resting_for_the_hour()
    driver.prints(b"LEFT STANDS\r\n")
    return driver


BY_LIMITS = until_held(test_limits.ROUND, Limits(errors_a_day=60))
BY_PACKS = until_held(test_limits.WRITES, Limits())


def by_hours() -> Driver:
    driver = resting(day(limits=CLOSES_AT_TEN))
    driver.run(lambda: "closing" in ran(driver))
    return driver


def somebody_there() -> Driver:
    driver = resting(day(presence_us=MIN))
    driver.wait(30 * S)
    then(driver, "here")
    driver.passes("rest")
    return driver


# -- the keyboard


def the_keyboard(*asked: tuple[str, str], seen: bool = True) -> Said:
    """After a failure, these are asked for, each by somebody."""

    def act() -> Driver:
        driver = test_keyboard.failed(seen=seen)
        for request, by in asked:
            driver.asks(request, by=by)
        return driver

    return that(act)


def keyed(text: str, come_to: Callable[[], Driver] = test_keyboard.taken, by: str = test_keyboard.BY) -> Said:
    """Why somebody may not type this now."""
    return lambda: test_keyboard.keyed(come_to(), text, by)


TAKES, GIVES = ("take keyboard", "an engineer"), ("give back", "an engineer")


def taken_for_a_round(*, given_back: bool) -> Said:
    def act() -> Driver:
        driver = started(where=described())
        driver.asks("here")
        driver.asks("take keyboard")
        if given_back:
            driver.asks("give back")
        return driver

    return that(act)


def asks_in_a_round(*requests: str, tidying: bool = False) -> Said:
    """These are asked for while a script runs, or while it tidies up."""

    def act() -> Driver:
        driver = Driver(one_round(pause("look"), tidy_up=TIDY_UP))
        driver.open_line()
        driver.asks("here")
        if tidying:
            driver.passes("step")
            driver.stands(b"READY: ")
        for request in requests:
            driver.asks(request)
        return driver

    return that(act)


# -- troubles


def troubled(
    *, shown: bytes = b"", asked: str = "", number: int = 0, why: str = "", minutes: int = 0
) -> Said:
    """A drive is warm while the script waits. Then the machine shows this, or somebody asks for that."""

    def act() -> Driver:
        driver = test_troubles.running(waits_for("end", "ended"))
        driver.prints(test_troubles.WARM)
        driver.prints(shown)
        if asked:
            about = number or test_troubles.raised(driver)[0]
            test_troubles.asks(driver, asked, about, why=why, minutes=minutes)
        return driver

    return that(act)


def ended_by(shown: bytes) -> Said:
    """The folder says that "stopped" ends every trouble."""

    def act() -> Driver:
        troubles = tuple(msgspec.structs.replace(one, over_when=("stopped",)) for one in MACHINE.troubles)
        where = msgspec.structs.replace(MACHINE, troubles=troubles)
        driver = test_troubles.running(waits_for("end", "ended"), described=where)
        driver.prints(test_troubles.WARM)
        driver.prints(shown)
        return driver

    return that(act)


def blocked(*, for_a_day: bool) -> Said:
    """The machine blocks typing, so long that this is a trouble, or not; then a person lets it go on."""

    def act() -> Driver:
        driver = Driver(one_round(pause("look", 90_000 * S), within_us=100_000 * S, described=XOFF_LIMITED))
        driver.open_line()
        driver.prints(b"\x13")
        if for_a_day:
            driver.run(lambda: bool(driver.facts(kinds.TroubleRaised)), within_us=90_000 * S)
        driver.asks("let go")
        return driver

    return that(act)


# -- steps by hand


def by_hand(*requests: str) -> Said:
    """These are said of a step for which the folder has no words of its own."""

    def act() -> Driver:
        site = msgspec.structs.replace(MACHINE.site, keyholder={"en": "The office.", "de": "Das Büro."})
        where = machine(languages={"en": "x", "de": "y"}, site=site)
        driver = Driver(one_round(hands_on("key"), described=where))
        driver.open_line()
        for request in requests:
            driver.asks(request, "key")
        return driver

    return that(act)


def of_the_date(request: str) -> Said:
    def act() -> Driver:
        driver = asked_about_the_date()
        driver.asks(request, "date")
        return driver

    return that(act)


def with_words_of_its_own() -> Driver:
    driver = test_by_hand.asked_for(test_by_hand.key())
    driver.asks("too early", "key")
    driver.asks("didn't", "key")
    return driver


STATEMENTS = [
    # -- requests about the day
    Statement("the day hasn't been opened", in_phase("before opening", "away"), in_phase("rounds", "away")),
    Statement("the day is open already", in_phase("rounds", "open"), in_phase("opening", "open")),
    Statement("the day is open already", in_phase("away", "open"), on(a_stopped_opening, "open")),
    Statement("the opening isn't over yet", in_phase("opening", "open", "away"), in_phase("rounds", "away")),
    Statement("the day is being closed", on(in_round, "close", "away"), in_phase("over", "close")),
    Statement("the day is over", in_phase("over", "close"), in_phase("closing", "close")),
    Statement(
        "the scripts were stopped, so nothing begins until somebody says that they can go on",
        in_phase("stopped", "round now"),
        in_phase("stopped", "back", "away"),
    ),
    Statement(
        "the scripts were stopped, so nothing begins until somebody says that they can go on",
        on(a_stopped_opening, "open"),
        on(failed_in_a_round, "open"),
    ),
    Statement(
        "that was said already: no round begins until somebody is back",
        in_phase("away", "away"),
        in_phase("quiet", "away"),
    ),
    Statement(
        "nothing waits for that: the rounds go on by themselves",
        in_phase("rounds", "back"),
        on(failed_in_a_round, "back"),
    ),
    Statement(
        "the scripts have stopped, and somebody must look at the machine first",
        on(failed_in_a_round, "back"),
        in_phase("stopped", "back"),
    ),
    Statement("say for how many minutes, from 1 to {}", quiet_for(241), quiet_for(240)),
    Statement("a script is running", on(in_round, "round now"), in_phase("rounds", "round now")),
    Statement("no script is running", in_phase("before opening", "stop"), on(in_round, "stop")),
    Statement(
        "these scripts were started to run once, in order, and not by the day",
        asks_in_a_round("away"),
        asks_in_a_round("here"),
    ),
    # -- who or what turns the day
    Statement("the start of this program", that(day), that(lambda: restarted(resting()))),
    Statement("the {} is done", in_phase("over"), that(an_opening_left_out)),
    Statement("the hours in day.toml", that(by_hours), in_phase("closing")),
    Statement("the limits in day.toml", BY_LIMITS, that(by_hours)),
    Statement("the limits in day.toml", BY_LIMITS, BY_PACKS),
    Statement("the rules about the packs", BY_PACKS, BY_LIMITS),
    Statement("the state of the machine's parts", that(a_part_stands), BY_PACKS),
    Statement(
        "the {} has stopped, and nothing has shown since that it was started again",
        that(a_part_stands),
        that(test_limits.resting_for_the_hour),
    ),
    Statement("the presence in day.toml", in_phase("nobody there"), that(somebody_there)),
    Statement(
        "nobody has given a sign of being there for {}", in_phase("nobody there"), that(somebody_there)
    ),
    Statement("the end of the quiet time", that(quiet_is_over), in_phase("quiet", "back")),
    Statement(
        "{}; the closing waits for somebody to be there",
        after_hours(away_after_hours),
        after_hours(stopped_before_opening),
    ),
    Statement(
        "{}; the closing waits for somebody to be there",
        after_hours(lambda: then(resting(day(limits=CLOSES_AT_TEN)), "stop")),
        after_hours(lambda: resting(day(limits=CLOSES_AT_TEN))),
    ),
    # -- from one recording to the next
    Statement(
        "so it was before the program was started again",
        that(lambda: restarted(resting())),
        that(lambda: restarted(resting(), date="2026-11-26")),
    ),
    Statement(
        "the opening was interrupted by a restart",
        that(lambda: restarted(opening())),
        that(lambda: restarted(resting())),
    ),
    Statement(
        "so it was before midnight",
        that(lambda: next_day(IN_PHASE["away"]())),
        that(lambda: next_day(IN_PHASE["over"]())),
    ),
    Statement(
        "{} had the keyboard when the program ended",
        that(lambda: restarted(then(resting(), "here", "take keyboard"))),
        that(lambda: restarted(then(resting(), "here", "take keyboard", "give back"))),
    ),
    # -- why the console's state is found out
    Statement("somebody asked for it", seeking(), that(lambda: restarted(resting(), FINDS_HOME))),
    Statement("somebody is back", seeking("stop", "clear"), seeking("stop", "back")),
    Statement(
        "something else is wanted now", sought_for_something_else("close"), sought_for_something_else()
    ),
    Statement("somebody is there again", nobody_then("note", A_NOTE), nobody_then("here", "")),
    Statement(
        "the keyboard was given back",
        taken_for_a_round(given_back=True),
        taken_for_a_round(given_back=False),
    ),
    # -- the keyboard
    Statement(
        "{} has the keyboard",
        the_keyboard(TAKES, ("take keyboard", "another")),
        the_keyboard(TAKES, GIVES, ("take keyboard", "another")),
    ),
    Statement(
        "nobody has the keyboard: take it first",
        keyed("x", test_keyboard.failed),
        keyed("x", by="another"),
    ),
    Statement("nobody has taken the keyboard", the_keyboard(GIVES), the_keyboard(TAKES, GIVES)),
    Statement(
        "in the last 10 minutes nobody has said at the machine that they are there: have somebody there say "
        "so",
        the_keyboard(TAKES, seen=False),
        the_keyboard(TAKES),
    ),
    Statement(
        "a script is running: say stop first, or wait until it ends",
        asks_in_a_round("take keyboard"),
        the_keyboard(TAKES),
    ),
    Statement(
        'the folder of this machine bars such a command ({}): say "{}" to type it',
        keyed("wipe all\r"),
        keyed("go\r"),
    ),
    Statement(
        "only one line can be typed at a time, so that what asks for a secret is seen first",
        keyed("go\rmore"),
        keyed("go\r"),
    ),
    Statement("there is nothing to type", keyed(""), keyed("ä")),
    Statement("this machine has no character for part of it", keyed("ä"), keyed("")),
    # -- hands off
    Statement("{} said hands off", asks_in_a_round("hands off"), asks_in_a_round("stop")),
    Statement(
        "nothing was tidied up", asks_in_a_round("hands off"), asks_in_a_round("hands off", tidying=True)
    ),
    Statement(
        "the tidy-up was not finished",
        asks_in_a_round("hands off", tidying=True),
        asks_in_a_round("hands off"),
    ),
    # -- troubles
    Statement(
        "no trouble of this number is open", troubled(asked="seen", number=999), troubled(asked="seen")
    ),
    Statement(
        "a trouble is set aside only with a reason",
        troubled(asked="set aside", minutes=20),
        troubled(asked="set aside", why="it is known", minutes=20),
    ),
    Statement(
        "a trouble is set aside for 1 to {} minutes",
        troubled(asked="set aside", why="it is known", minutes=121),
        troubled(asked="set aside", why="it is known", minutes=120),
    ),
    Statement("a script has gone on since", troubled(shown=b"JOB 3 ENDED\r\n"), troubled()),
    Statement("{} let typing go on", blocked(for_a_day=True), blocked(for_a_day=False)),
    Statement("the machine shows {}", ended_by(b"JOB 3 STOPPED\r\n"), ended_by(b"JOB 3 ENDED\r\n")),
    # -- steps by hand
    Statement(
        "it is a question about a date, to be answered with yes, no or not yet",
        of_the_date("too early"),
        of_the_date("not yet"),
    ),
    *(
        Statement(words, by_hand(request), not_when)
        for request, *both in (
            (
                "too early",
                "Touch nothing more for now. Wait until everything that the step needs is ready, then do it "
                "once more.",
                "Berühren Sie erst einmal nichts mehr. Warten Sie, bis alles bereit ist, was der Schritt "
                "braucht, und machen Sie es "
                "dann noch einmal.",
            ),
            (
                "didn't",
                "Look whether every switch and lamp is as the step says. Then do it once more, without "
                "haste.",
                "Sehen Sie nach, ob jeder Schalter und jede Lampe so ist, wie der Schritt sagt. Machen Sie "
                "es dann in Ruhe noch einmal.",
            ),
        )
        for words in both
        for not_when in (by_hand("not yet"), that(with_words_of_its_own))
    ),
    *(
        Statement(words, by_hand("didn't", "didn't"), by_hand("didn't", "too early", "didn't"))
        for words in (
            "If it doesn't work this time either, leave everything as it is and call: {keyholder}",
            "Geht es auch diesmal nicht, lassen Sie alles, wie es ist, und rufen Sie an: {keyholder}",
        )
    ),
]
