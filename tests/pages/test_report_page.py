"""The report before the drive is one page of A4, however much there is to say."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

from playwright.sync_api import Browser

from exhibit.facts import kinds
from exhibit.records.excerpt.privacy import Privacy
from exhibit.records.history.report import report
from exhibit.records.history.visit import visit_of
from tests.records.history.days_made import H_S, Timed, a_day, step, trouble


def sheets(browser: Browser, file: Path) -> int:
    page = browser.new_page()
    page.goto(file.as_uri())
    printed = page.pdf(format="A4", prefer_css_page_size=True)
    page.close()
    return len(re.findall(rb"/Type\s*/Page\b", printed))


def test_with_as_much_as_there_is_room_for_it_is_one_sheet(browser, tmp_path):
    long = "A LINE THAT IS AS LONG AS THE CONSOLE IS WIDE AND THAT SAYS WHAT IS WRONG WITH DRIVE"
    for day in range(12):
        facts: list[Timed] = []
        for number in range(8):
            name = f"a-step-with-a-rather-long-name-{number}"
            facts += step(name, 100.0 + number * 50, (5.0 if day < 6 else 9.0) + number / 10 + day / 50)
            facts += step(name, 900.0 + number * 50, (5.0 if day < 6 else 9.0) + number / 10 + day / 51)
            if day >= 6:
                line = f"{long} {'ABCDEFGH'[number]}"
                facts.append(trouble(line, 2000.0 + number * 80, f"a-trouble-{number}"))
        for number in range(8):
            facts.append((kinds.PartStarted(part=f"part-{number}", by="x"), 10))
            facts.append((kinds.NoteMade(kind="note", by="docent 2", digest=f"{number}" * 64), 3 * H_S))
        a_day(tmp_path, day, facts)
    visit = visit_of([tmp_path], date(2026, 11, 8))
    assert len(visit.slower) == 8
    because = ["a-trouble-1", "a-trouble-2"]
    visit.bring = [(f"a thing that an engineer brings, {number}", because) for number in range(9)]
    file = tmp_path / "report.html"
    file.write_text(report(visit, Privacy(), with_folder=True), "utf-8")
    assert sheets(browser, file) == 1
