"""Notices break into anything, are recognisable, and lose nothing."""

import re

import pytest

from exhibit.simulator.truth import NoticeGiven
from tests.simulator.workbench import at_desk, at_no_desk, at_one_operator, records

NOTICE = re.compile(r"\r\n== ([^\r\n]*) ==\r\n")
PROMPT = "DESK TIDES: "


def test_a_notice_in_the_middle_of_a_line_leaves_the_rest_of_it_whole():
    plain, broken = at_desk(), at_desk()
    for bench in (plain, broken):
        bench.send(b"DRIVES\r")
    broken.until("STARTER")
    broken.act("fault notice fog at the outer mark")
    came = "DRIVES\r\nSMALL  READY     STARTER" + broken.until(PROMPT)
    assert len(NOTICE.findall(came)) == 1
    assert "STARTER 5  MAY" not in came
    assert NOTICE.sub("", came) == plain.until(PROMPT)


@pytest.mark.parametrize("after", range(1, 90, 4))
def test_a_notice_never_stands_between_return_and_line_feed(after):
    bench = at_desk()
    bench.send(b"DRIVES\r")
    bench.run(0.05 + after * 0.0041667)
    bench.act("fault notice fog")
    came = bench.until(PROMPT) + bench.run(2)
    assert "== NOTICE" in came
    assert not re.search(r"\r(?!\n)", came)


def test_a_command_typed_across_a_notice_is_taken_whole():
    bench = at_desk()
    bench.send(b"TI")
    bench.until("TI")
    bench.act("fault notice fog")
    bench.run(1)
    bench.send(b"ME\r")
    came = bench.until(PROMPT)
    assert came.startswith("ME\r\n25.11.1998 09.1")


def test_a_notice_waits_while_a_desks_word_is_typed():
    bench = at_no_desk()
    bench.command("TAKE TIDES", "TIDES? ")
    bench.act("fault notice fog")
    assert bench.run(10) == ""
    bench.secret("GREBE519", "FOG ==\r\n")
    assert bench.until(PROMPT).startswith("DESK TIDES TAKEN")


def test_a_notice_is_a_line_of_its_own_that_begins_and_ends_in_equals_signs():
    bench = at_desk()
    bench.act("fault notice pilot boat is out")
    assert re.fullmatch(r"\r\n== NOTICE 09\.1[23] PILOT BOAT IS OUT ==\r\n", bench.run(2))


def test_the_keepers_notice_is_given():
    bench = at_desk("KEEPER")
    came = bench.command("NOTICE LOCK GATE WORKED BY HAND", "HAND ==\r\n")
    assert "== NOTICE 09.1" in came


def test_the_harbour_office_gives_notices_of_its_own_while_the_office_is_open():
    bench = at_no_desk(notices_every_s=60.0)
    bench.run(3600)
    given = len(records(bench, NoticeGiven))
    assert 40 <= given <= 80
    assert bench.heard.count(b"== NOTICE ") == given
    bench.act("press halt")
    assert "NOTICE" not in bench.run(600)


def test_who_wanted_no_notices_on_this_console_gets_none_but_hears_of_the_drives():
    bench = at_one_operator()
    bench.command("STOP TIDEBOOK", "(NO)? ")
    bench.command("YES", "DRIVES MAY BE STOPPED\r\n")
    bench.act("press start")
    bench.until("YEAR? ")
    bench.command("329 1970", "STARTER: ")
    bench.command("LOAD TIDEBOOK", "(UPPER)? ")
    bench.command("", "DAY.MONTH.YEAR? ")
    bench.command("25.11.1998", "HOURS.MINUTES? ")
    bench.command("09.12", "RIGHT (YES)? ")
    bench.command("", "LOG (YES)? ")
    bench.command("", "CONSOLE (YES)? ")
    bench.command("NO", "ONE OPERATOR: ")
    bench.act("fault notice fog")
    assert bench.run(5) == ""
    bench.act("stop lower")
    assert bench.run(15) == "\r\n== LOWER STOPPED ==\r\n"


def test_a_job_of_another_desk_says_nothing_when_it_ends():
    bench = at_desk()
    bench.command("BEGIN SUMS 2 PASSES", PROMPT)
    bench.command("LEAVE", "NO DESK: ")
    assert bench.run(20) == ""
