"""The visitor page's picture: what each fact changes, and that it is the same however it is come by."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from exhibit.facts.display import Display
from exhibit.facts.kinds import Entry
from tests.pages import made_facts
from tests.pages.made_facts import Teller

DAY = list(made_facts.entries(made_facts.a_day()))


def folded(entries: list[Entry]) -> View:
    view = View()
    for entry in entries:
        view.apply(entry)
    return view


def picture(view: View) -> dict[str, Any]:
    """All of it, as a page gets it, but for what is just going along the cable and so isn't kept."""
    whole = json.loads(json.dumps(view.batch(0)))
    assert isinstance(whole, dict)
    whole.pop("cable", None)
    return whole


def merged(pages: dict[str, Any], batch: dict[str, Any]) -> dict[str, Any]:
    """What a page does with a batch (web/visitor/page.js, `take`)."""
    batch = json.loads(json.dumps(batch))
    batch.pop("cable", None)
    for name, value in batch.items():
        if name == "items":
            pages.setdefault("items", {}).update(value)
        elif name == "readings":
            for display, taken in value.items():
                pages.setdefault("readings", {}).setdefault(display, {}).update(taken)
        elif name == "console":
            console = pages.setdefault("console", {})
            rows = {**console.get("rows", {}), **value.get("rows", {})}
            printed = [*console.get("printed", []), *value.get("printed", [])]
            console.update(value)
            if printed:
                console["printed"] = printed
            first = console.get("first_row", 0)
            console["rows"] = {number: row for number, row in rows.items() if int(number) >= first}
        else:
            pages[name] = value
    return pages


def day_with(*more: kinds.AnyFact, **opened: object) -> View:
    """A view of the made day and then these facts, a second after each other."""
    entries = list(made_facts.entries(made_facts.a_day(), made_facts.opened(**opened)))
    last = entries[-1]
    for number, fact in enumerate(more, 1):
        entries.append(Entry(last.seq + number, last.at_us + number * 1_000_000, fact))
    return folded(entries)


def items(view: View) -> dict[str, Any]:
    return dict(picture(view)["items"])


def test_every_item_that_pages_are_sent_is_one_that_they_read() -> None:
    web = Path(__file__).resolve().parents[3] / "web"
    folders = ("visitor", "drawing", "charts", "shared")
    code = "\n".join(
        file.read_text("utf-8") for folder in folders for file in sorted((web / folder).glob("*.js"))
    )

    def is_read(name: str) -> bool:
        taken_apart = rf"\{{[^{{}}]*\b{name}\b[^{{}}]*\}}"
        ways = rf"\bitems\??\.{name}\b|\({taken_apart}[,)]|{taken_apart} = [\w.]*\bitems\b"
        return re.search(ways, code) is not None

    assert [name for name in items(folded(DAY)) if not is_read(name)] == []


# -- what is shown --------------------------------------------------------------------------------


def test_the_console_s_rows_and_looks_are_those_of_the_bytes_received() -> None:
    rows = picture(folded(DAY))["console"]["rows"]
    assert rows["0"] == [[made_facts.BOARD_HEAD, "reverse"]]
    assert rows["6"][0][1] == "bold"
    assert rows["21"] == [["ANY KEY PUTS THE BOARD AWAY", "underline"]]
    assert rows["2"] == [["PROCESSOR LOAD  87 PER CENT   JOBS GOING  3", ""]]


def test_withheld_bytes_show_nothing() -> None:
    before = picture(day_with())
    after = picture(day_with(kinds.BytesWithheld(count=5, why="a secret was being typed")))
    assert {**after, "seq": 0, "at": ""} == {**before, "seq": 0, "at": ""}


def test_the_caption_carries_its_words_part_source_and_what_it_rests_on() -> None:
    caption = items(folded(DAY))["caption"]
    assert caption["kind"] == "seen"
    assert caption["words"]["en"].startswith("Three jobs share one processor")
    assert caption["part"] == "processor"
    assert [ground["how"] for ground in caption["because"]] == ["received", "showing"]
    assert caption["because"][1]["what"] == " ".join(made_facts.BOARD_HEAD.split())


def test_a_look_or_listen_caption_leaves_the_last_seen_one_standing_for_replays() -> None:
    place = next(i for i, e in enumerate(DAY) if getattr(e.fact, "kind", "") == "look or listen for")
    shown = items(folded(DAY[: place + 1]))
    assert shown["caption"]["id"] == "listen-to-lower"
    assert shown["seen_caption"]["id"] == "core-is-sound"


def test_a_caption_may_rest_on_a_confirmation_that_is_hours_old() -> None:
    tellers = Teller()
    confirmed = tellers.tell(kinds.HandsOnConfirmed(step="feel-the-hum", by="docent 1"))
    for _ in range(500):
        tellers.prints("ANOTHER LINE\r\n")
    tellers.caption("hum", "look or listen for", "Listen.", "lower-drive", [confirmed])
    because = items(folded(list(made_facts.entries(tellers.told))))["caption"]["because"]
    assert because[0]["how"] == "confirmed"
    assert because[0]["what"] == "feel-the-hum"


def test_a_fact_that_is_long_past_is_named_by_its_number() -> None:
    tellers = Teller()
    seen = tellers.tell(kinds.PatternSeen(pattern="core-sound", line="CORE SOUND"))
    for number in range(500):
        tellers.tell(kinds.LandmarkReached(landmark=f"prompt-{number}", line="READY:"))
    tellers.caption("old", "seen", "Old.", "processor", [seen])
    because = items(folded(list(made_facts.entries(tellers.told))))["caption"]["because"]
    assert [(one["seq"], one["at"], one["how"], one["what"], one["line"]) for one in because] == [
        (seen, "", "fact", "", "")
    ]


def test_a_caption_that_waited_while_much_was_printed_still_names_the_bytes_and_the_line() -> None:
    tellers = Teller()
    received = tellers.prints("SOUND\r\n")
    seen = tellers.tell(kinds.PatternSeen(pattern="core-sound", line="CORE SOUND"))
    for _ in range(500):
        tellers.prints("ANOTHER LINE\r\n")
    tellers.caption("sound", "seen", "All is sound.", "processor", [received, seen])
    because = items(folded(list(made_facts.entries(tellers.told))))["caption"]["because"]
    assert [(one["how"], one["what"]) for one in because] == [
        ("received", "SOUND"),
        ("printed", "CORE SOUND"),
    ]


def test_what_is_quoted_has_no_control_sequences_in_it() -> None:
    view = day_with(
        kinds.BytesReceived(bytes="\x1b[7mHELLO\x1b[0m\r\n\x07", first_us=0),
        kinds.CaptionShown(
            caption="x", kind="seen", words={"en": "X"}, part="processor", because=[len(DAY) + 1], source={}
        ),
    )
    assert items(view)["caption"]["because"][0]["what"] == "HELLO"


def test_script_step_and_round_are_told_in_words_and_numbers() -> None:
    shown = items(folded(DAY))
    assert shown["session"]["state"] == "running"
    assert shown["script"]["title"] == {"en": "Working out the tides"}
    assert shown["script"]["round"] == 1
    assert shown["step"]["name"] == "show-the-board"


@pytest.mark.parametrize(
    ("fact", "state"),
    [
        (kinds.SessionResting(until_us=0), "resting"),
        (kinds.SessionFailed(why="it did not answer", last_lines=[]), "failed"),
        (kinds.ScriptStarted(script="closing", title={"en": "Closing"}, by="docent 1"), "running"),
    ],
)
def test_the_session_s_state_follows_its_facts(fact: kinds.AnyFact, state: str) -> None:
    assert items(day_with(fact))["session"]["state"] == state


def test_after_a_person_has_cleared_a_failure_it_is_no_longer_shown() -> None:
    failed = kinds.SessionFailed(why="it did not answer", last_lines=[])
    view = folded([*DAY, kinds.Entry(DAY[-1].seq + 1, DAY[-1].at_us, failed)])
    assert view.recorded_state().failed
    view.apply(kinds.Entry(DAY[-1].seq + 2, DAY[-1].at_us, kinds.SessionCleared(by="docent 1")))
    assert not view.recorded_state().failed
    assert items(view)["session"]["why"] == ""


def test_nothing_is_started_before_a_script_is() -> None:
    assert items(folded(DAY[:1]))["session"]["state"] == "not started"


def test_the_pause_between_rounds_says_until_when() -> None:
    resting = items(day_with(kinds.SessionResting(until_us=3600 * 1_000_000)))["session"]
    assert resting["until"] == "2026-11-25T10:12:00.000+00:00"


def test_hands_on_work_is_shown_from_the_asking_to_the_answer() -> None:
    asked = next(i for i, e in enumerate(DAY) if isinstance(e.fact, kinds.HandsOnAsked))
    assert items(folded(DAY[: asked + 1]))["hands_on"]["caution"]["en"].startswith("Mains voltage")
    assert items(folded(DAY[: asked + 2]))["hands_on"] is None


def test_hands_on_work_is_no_longer_asked_for_once_the_script_is_stopped() -> None:
    asked = kinds.HandsOnAsked(script="round", step="key", words={"en": "Turn it."}, caution={})
    stopped = kinds.TidyUpStarted(script="round", why="a docent said stop")
    assert items(day_with(asked))["hands_on"]["words"] == {"en": "Turn it."}
    assert items(day_with(asked, stopped))["hands_on"] is None


def test_readings_are_kept_by_display_and_name_and_replaced_by_the_next_frame() -> None:
    later = kinds.ReadingTaken(display="board", frame=2, name="load", value=41)
    readings = picture(day_with(later))["readings"]["board"]
    assert readings["load"]["value"] == 41
    assert readings["load"]["frame"] == 2
    assert readings["jobs-going"]["value"] == 3
    assert [job["name"] for job in readings["jobs"]["table"]] == ["SHUTTLE", "SUMS", "TIDES"]


def test_damaged_characters_add_up() -> None:
    shown = items(day_with(kinds.LineErrorsCounted(parity=2), kinds.LineErrorsCounted(parity=1, framing=4)))
    assert shown["line_errors"] == {"parity": 3, "framing": 4, "overrun": 0, "breaks": 0}


def test_trouble_stands_until_a_script_is_started_afresh() -> None:
    raised = kinds.TroubleRaised(trouble="disc", line="DISC ERROR", words={"en": "Disc."}, do={"en": "Call."})
    started = kinds.ScriptStarted(script="opening", title={"en": "Opening"}, by="docent 1")
    assert items(day_with(raised))["trouble"]["do"] == {"en": "Call."}
    assert items(day_with(raised, started))["trouble"] is None


def test_trouble_that_is_over_stands_no_longer_and_its_repeats_change_nothing() -> None:
    raised = kinds.TroubleRaised(trouble="disc", line="DISC ERROR", words={"en": "Disc."}, do={"en": "Call."})
    number = picture(day_with(raised))["seq"]
    again = kinds.TroubleRaised(trouble="disc", line="AGAIN", words={}, do={}, repeats=number, times=2)
    over = kinds.TroubleOver(raised=number, by="a docent")
    assert items(day_with(raised, again))["trouble"]["line"] == "DISC ERROR"
    assert items(day_with(raised, again, over))["trouble"] is None
    other = kinds.TroubleOver(raised=1, by="a docent")
    assert items(day_with(raised, other))["trouble"] is not None


def test_trouble_of_an_earlier_recording_is_the_docents_and_not_what_happens_now() -> None:
    raised = kinds.TroubleRaised(
        trouble="disc", line="DISC ERROR", words={}, do={}, since="2026-11-24T16:40Z"
    )
    assert items(day_with(raised))["trouble"] is None


def test_an_engineer_at_the_keyboard_is_shown_without_a_name() -> None:
    taken = kinds.KeyboardTaken(by="engineer 7")
    assert items(day_with(taken))["keyboard"]["who"] == "an engineer"
    assert items(day_with(taken, kinds.KeyboardGivenBack(by="engineer 7")))["keyboard"] is None


def test_what_the_machine_believes_the_date_is_comes_from_a_field_of_that_name() -> None:
    assert items(folded(DAY))["machine_date"]["value"] == "25.11.1998"


@pytest.mark.parametrize(
    ("then", "still_asked"),
    [("wait on", True), ("ask", True), ("stop", False), ("leave out", False)],
)
def test_a_hands_on_step_that_is_late_is_asked_for_as_long_as_it_goes_on(
    then: kinds.WhatThen, still_asked: bool
) -> None:
    asked = kinds.HandsOnAsked(script="round", step="key", words={"en": "Turn it."}, caution={})
    late = kinds.StepOverdue(
        script="round", step="key", waited_for=["a person"], within_us=1, last_lines=[], then=then
    )
    seen = items(day_with(asked, late))
    assert (seen["hands_on"] is not None) == still_asked
    assert seen["step"]["state"] == "overdue"


def test_a_late_step_that_a_person_waits_on_for_is_late_no_more() -> None:
    late = kinds.StepOverdue(
        script="round", step="x", waited_for=["y"], within_us=1, last_lines=[], then="ask"
    )
    seen = items(day_with(late, kinds.LateAnswered(step="x", answer="wait on", by="docent 1")))
    assert (seen["step"]["name"], seen["step"]["state"]) == ("x", "started")


def test_times_are_those_of_the_museum_s_computer_with_its_offset() -> None:
    opened = {"wall": "2026-07-01T08:00:00.000+02:00", "rate": 20.0}
    view = folded([Entry(1, 0, made_facts.opened(**opened)), Entry(2, 1, kinds.LineOpened(line="x"))])
    assert view.wall(20 * 60 * 1_000_000) == "2026-07-01T08:01:00.000+02:00"


def test_when_summer_time_ends_times_go_on_with_the_new_offset() -> None:
    """In Central Europe it ended on 25 October 2026 at 1:00 UTC: 3:00 was 2:00 again (tz database)."""
    first = {"wall": "2026-10-25T02:59:58.000+02:00"}
    view = folded([Entry(1, 0, made_facts.opened(**first)), Entry(2, 1, kinds.LineOpened(line="x"))])
    assert view.wall(2_000_000) == "2026-10-25T03:00:00.000+02:00"
    view.apply(Entry(3, 2_000_000, kinds.Heartbeat(wall="2026-10-25T02:00:00.000+01:00")))
    assert view.wall(9 * 3600 * 1_000_000) == "2026-10-25T10:59:58.000+01:00"


def test_after_a_jump_of_the_clock_times_go_on_from_the_new_one() -> None:
    stepped = kinds.ClockStepped(by_us=3_600_000_000, wall="2026-11-25T10:12:30.000+00:00")
    view = folded([*DAY, Entry(len(DAY) + 1, 30_000_000, stepped)])
    assert view.wall(31_000_000) == "2026-11-25T10:12:31.000+00:00"


@pytest.mark.parametrize(("at_us", "rate"), [(10**18 - 1, 1.0), (10**6, 5e-324), (10**6, 0.0)])
def test_a_time_in_no_year_is_left_out_and_breaks_nothing(at_us: int, rate: float) -> None:
    view = folded([Entry(1, 0, made_facts.opened(rate=rate)), Entry(2, at_us, kinds.LineOpened(line="x"))])
    assert view.wall(at_us) == ""
    assert picture(view)["items"]["line"]["since"] == ""


def test_a_kind_of_fact_that_this_version_does_not_know_changes_nothing() -> None:
    unknown = Entry(len(DAY) + 1, DAY[-1].at_us, kinds.UnknownFact(name="lamp_lit", raw="{}"))
    assert picture(folded([*DAY, unknown])) == {**picture(folded(DAY)), "seq": len(DAY) + 1}


def test_every_kind_of_fact_can_be_seen_at_any_moment() -> None:
    """A recording that was cut or damaged may lack any of them: no order may break the page."""
    each = {type(entry.fact): entry.fact for entry in DAY}
    more: list[kinds.AnyFact] = [
        kinds.StepOverdue(script="round", step="x", waited_for=["y"], within_us=1, last_lines=[]),
        kinds.LateAnswered(step="x", answer="wait on", by="docent 1"),
        kinds.StepFailed(script="round", step="x", why="y"),
        kinds.StepLeftOut(script="round", step="x", why="y"),
        kinds.TidyUpStarted(script="round", why="x"),
        kinds.TypingGarbled(command="A", expected="A", came_back="B", attempt=1),
        kinds.TypingFailed(why="x"),
        kinds.TypingRefused(command="A", why="x"),
        kinds.InterruptionSeen(interruption="notice", text="SWELL"),
        kinds.RecordNearlyFull(left_bytes=1),
        kinds.HandsOnRefused(step="x", by="docent 1", why="y"),
        kinds.RecordingClosed(why="x"),
    ]
    for fact in [*each.values(), *more]:
        view = folded([Entry(1, 0, made_facts.opened()), Entry(2, 0, fact)])
        json.dumps(view.batch(0))
        view.recorded_state()


# -- the same picture, however it is come by ------------------------------------------------------


@pytest.mark.parametrize("display", [Display(), Display(kind="paper", rows=5, columns=40)])
@pytest.mark.parametrize("every", [1, 2, 7, 40])
def test_a_page_that_asks_seldom_ends_with_the_same_picture(display: Display, every: int) -> None:
    day = list(made_facts.entries(made_facts.a_day(), made_facts.opened(display=display)))
    view, page, has = View(), dict[str, Any](), 0
    for number, entry in enumerate(day, 1):
        view.apply(entry)
        if number % every == 0 or number == len(day):
            batch = view.batch(has)
            merged(page, batch)
            has = batch["seq"]
    assert page == picture(folded(day))


def test_pages_of_different_haste_do_not_take_changes_from_each_other() -> None:
    view = View()
    pages: list[tuple[int, dict[str, Any], int]] = [(1, {}, 0), (3, {}, 0), (11, {}, 0)]
    for number, entry in enumerate(DAY, 1):
        view.apply(entry)
        for place, (every, page, has) in enumerate(pages):
            if number % every == 0:
                batch = view.batch(has)
                pages[place] = (every, merged(page, batch), batch["seq"])
    for _, page, has in pages:
        assert merged(page, view.batch(has)) == picture(folded(DAY))


def test_a_view_restored_from_any_snapshot_goes_on_as_if_it_had_seen_all() -> None:
    whole, running = picture(folded(DAY)), View()
    for number, entry in enumerate(DAY, 1):
        running.apply(entry)
        if number % 9 == 0:
            restored = View()
            restored.restore(json.loads(json.dumps(running.snapshot())))
            assert picture(restored) == picture(running)
            for later in DAY[number:]:
                restored.apply(later)
            assert picture(restored) == whole
            assert restored.recorded_state() == folded(DAY).recorded_state()


def test_a_view_that_forgets_a_byte_is_found_out() -> None:
    place = next(
        i for i, e in enumerate(DAY) if isinstance(e.fact, kinds.BytesReceived) and "L" in e.fact.bytes
    )
    entry = DAY[place]
    assert isinstance(entry.fact, kinds.BytesReceived)
    bent = kinds.BytesReceived(bytes=entry.fact.bytes.replace("L", "M", 1), first_us=entry.fact.first_us)
    changed = [*DAY[:place], Entry(entry.seq, entry.at_us, bent)]
    assert picture(folded(changed)) != picture(folded(DAY[: place + 1]))


def test_nothing_changed_gives_an_empty_batch() -> None:
    view = folded(DAY)
    assert set(view.batch(view.batch(0)["seq"])) == {"seq", "at"}


def test_a_change_is_sent_once_and_alone() -> None:
    view = folded(DAY)
    has = view.batch(0)["seq"]
    view.apply(Entry(has + 1, DAY[-1].at_us, kinds.BytesReceived(bytes="\x1b[23;1HSWELL", first_us=0)))
    changed = view.batch(has)
    assert list(changed["console"]["rows"]) == [22]
    assert "items" not in changed


def test_a_row_of_paper_says_what_was_struck_over_what() -> None:
    opened = made_facts.opened(display=Display(kind="paper", rows=5, columns=40))
    view = folded([Entry(1, 0, opened), Entry(2, 0, kinds.BytesReceived(bytes="OOO\r///", first_us=0))])
    assert view.batch(0)["console"]["rows"][0][0] == ["/", "overstruck", "O/"]


def test_a_batch_of_the_largest_display_stays_below_64_kB() -> None:
    """simple-websocket sends a message in one go (its issue 45), so none may be large."""
    opened = made_facts.opened(display=Display(kind="paper", rows=200, columns=132))
    printed = kinds.BytesReceived(bytes=("W" * 132 + "\r\n") * 220, first_us=0)
    view = folded([Entry(1, 0, opened), Entry(2, 0, printed)])
    assert 26_000 < len(json.dumps(view.batch(0)).encode()) < 64 * 1024
