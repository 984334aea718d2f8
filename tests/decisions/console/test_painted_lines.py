"""A machine with a screen puts its lines where it likes: what it paints in one go is a line."""

import pytest

from exhibit.decisions.machine.description import Interruption, LinePattern
from exhibit.decisions.machine.pattern import Pattern
from exhibit.facts import kinds
from tests.decisions.driver import Driver
from tests.decisions.heron import command, machine, wait
from tests.decisions.one_round import one_round

NEW_ROW = b"\x1b[3;1H\x1b[M\x1b[21;1H\x1b[L"
"""Takes a row out of the middle of the screen and opens an empty one at its bottom (ECMA-48: CUP, DL, IL)."""
TO_PROMPT = b"\x1b[23;1H\x1b[KREADY: "
HOST = machine(
    lines=(
        LinePattern(name="begun", pattern=Pattern("job {job: number} begun")),
        LinePattern(name="over", pattern=Pattern("job {job: number} over")),
    ),
    interruptions=(Interruption(name="notice", starts=Pattern("NOTICE {...}"), lines=1),),
)


@pytest.fixture(params=["whole", "byte by byte"])
def driver(request):
    driver = Driver(one_round(command("go", "go", "begun", within_us=60_000_000), described=HOST))
    driver.open_line()
    feed = driver.prints
    if request.param == "byte by byte":
        driver.prints = lambda data: [feed(bytes((byte,))) for byte in data]
    return driver


def typed_go(driver: Driver) -> None:
    driver.prints(TO_PROMPT)
    driver.passes("settle")
    driver.prints(b"G")
    driver.prints(b"O")
    driver.passes("echo")
    assert driver.typed == b"go\r"


def seen(driver: Driver) -> list[tuple[str, str]]:
    return [(fact.pattern, fact.line) for fact in driver.facts(kinds.PatternSeen)]


def test_a_jump_of_the_cursor_answers_return_and_the_painted_answer_is_a_line(driver):
    typed_go(driver)
    driver.prints(b"\r" + NEW_ROW + b"job 7 begun" + TO_PROMPT)
    assert [fact.command for fact in driver.facts(kinds.TypingConfirmed)] == ["go"]
    assert driver.facts(kinds.TypingGarbled) == []
    assert seen(driver) == [("begun", "job 7 begun")]
    driver.run()
    assert driver.over == "done"


def test_what_is_painted_anew_after_the_screen_was_erased_says_nothing_new(driver):
    typed_go(driver)
    driver.prints(b"\r" + NEW_ROW + b"job 7 begun" + NEW_ROW + b"job 7 over" + TO_PROMPT)
    whole = [("begun", "job 7 begun"), ("over", "job 7 over")]
    assert seen(driver) == whole
    driver.prints(b"\x1b[2J\x1b[20;1Hjob 7 begun\x1b[21;1Hjob 7 over" + TO_PROMPT)
    assert seen(driver) == whole
    driver.passes("settle")
    driver.prints(NEW_ROW + b"job 8 begun" + TO_PROMPT)
    assert seen(driver) == [*whole, ("begun", "job 8 begun")]


def test_a_prompt_stands_while_the_machine_writes_elsewhere_and_comes_back():
    steps = wait("over", "over"), command("go", "go", "begun")
    driver = Driver(one_round(*steps, described=HOST))
    driver.open_line()
    driver.prints(TO_PROMPT)
    driver.passes("settle")
    standing = driver.facts(kinds.LandmarkReached)
    driver.prints(b"\x1b7\x1b[24;1H\x1b[7mNOTICE LIFT OUT OF ORDER\x1b[0m\x1b8")
    assert [fact.text for fact in driver.facts(kinds.InterruptionSeen)] == ["NOTICE LIFT OUT OF ORDER"]
    driver.prints(b"\x1b7\x1b[21;1Hjob 7 over\x1b8")
    assert seen(driver) == [("over", "job 7 over")]
    assert driver.facts(kinds.LandmarkReached) == standing
    assert driver.typed == b"g"
