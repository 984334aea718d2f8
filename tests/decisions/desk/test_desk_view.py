"""The docent's picture is the visitors' picture and more."""

import json

from exhibit.decisions.desk.desk_view import DeskView
from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from tests.decisions.desk.made_day import Told, asked, asks, prints, started, trouble
from tests.pages import made_facts

OWN = {
    "today",
    "doing",
    "at_step",
    "under_way",
    "closing_left",
    "troubles",
    "keyboard",
    "practice",
    "stopping",
    "done_today",
    "for_docent",
}


def test_it_has_all_that_visitors_see_and_its_own_items_and_hides_what_it_keeps_for_itself():
    desk, visitors = DeskView(), View()
    for entry in made_facts.entries(made_facts.a_day()):
        desk.apply(entry)
        visitors.apply(entry)
    mine, theirs = desk.batch(0), visitors.batch(0)
    assert set(mine["items"]) - set(theirs["items"]) == OWN
    assert {name: mine["items"][name] for name in theirs["items"]} == theirs["items"]
    assert {name for name in mine if name != "items"} == {name for name in theirs if name != "items"}


def test_only_what_changed_is_sent_again():
    told = Told(asked())
    seq = told.view.seq
    told.tell(trouble())
    assert {"troubles", "done_today"} <= set(told.view.batch(seq)["items"])
    assert not {"doing", "keyboard", "for_docent"} & set(told.view.batch(seq)["items"])
    assert told.view.items_seq == told.view.seq


def test_going_on_from_a_snapshot_gives_the_same_picture():
    told = Told(started(), asks("stop"), trouble(), prints("READY:"))
    again = DeskView()
    again.restore(json.loads(json.dumps(told.view.snapshot())))
    assert again.batch(0)["items"] == told.view.batch(0)["items"]
    more = kinds.Entry(told.view.seq + 1, 99_000_000, kinds.TroubleSeen(raised=5, by="docent 1"))
    for view in (again, told.view):
        view.apply(more)
    assert again.batch(0)["items"] == told.view.batch(0)["items"]
    assert again.batch(0)["items"]["troubles"][0]["state"] == "seen"


def test_the_docent_is_told_where_the_mains_stop_is_and_whom_to_call():
    assert Told()["for_docent"] == {
        "mains_stop": {"en": "The red button beside the door"},
        "keyholder": {"en": "The duty engineer"},
        "two_people": {"en": "Never alone while it runs"},
        "steps_by_hand": {"opening": 3, "closing": 2},
        "emergencies": {},
    }
