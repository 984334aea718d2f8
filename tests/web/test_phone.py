"""The page on a visitor's phone: only if served beyond this computer, at the address in the QR code."""

from __future__ import annotations

from pathlib import Path

import click.testing
import pytest

from exhibit.web import phone
from exhibit.web.phone import Phone, is_loopback
from tests.pages import made_facts, web_processes
from tests.web.page_line import Line


@pytest.mark.parametrize("host", ["127.0.0.1", "127.8.8.8", "::1", "localhost"])
def test_on_this_computer_alone_there_is_no_address_and_no_code(host: str) -> None:
    assert is_loopback(host)
    assert Phone(host, 8000).address() == ""
    assert Phone(host, 8000).picture() == b""


def test_beyond_it_the_address_is_the_one_it_is_served_at(monkeypatch: pytest.MonkeyPatch) -> None:
    assert Phone("10.1.2.3", 8000).address() == "http://10.1.2.3:8000/"
    assert Phone("fd00::7", 80).address() == "http://[fd00::7]:80/"
    assert Phone("exhibit.example", 80).address() == "http://exhibit.example:80/"
    monkeypatch.setattr(phone, "own_address", lambda: "192.168.7.8")
    assert Phone("0.0.0.0", 8000).address() == "http://192.168.7.8:8000/"
    monkeypatch.setattr(phone, "own_address", lambda: "")
    assert Phone("0.0.0.0", 8000).address() == ""


def test_a_page_on_this_computer_alone_offers_no_phone(tmp_path: Path) -> None:
    path = made_facts.write(tmp_path, made_facts.a_day())
    with web_processes.live(path.parent) as web, Line(web) as line:
        assert line.ask()["phone"] == ""


def test_a_warning_is_given_only_when_others_can_read_the_page(tmp_path: Path) -> None:
    from exhibit.commands.cli import _announce
    from exhibit.commands.visitors_page import OPEN_TO_ALL

    for address, told in (("http://127.0.0.1:8000/", False), ("http://10.1.2.3:8000/", True)):

        @click.command()
        def command(address: str = address) -> None:
            _announce(open_browser=False)(address, tmp_path)

        output = click.testing.CliRunner().invoke(command).output
        assert (OPEN_TO_ALL in output) is told


def test_a_page_on_another_computer_can_control_nothing(tmp_path: Path) -> None:
    path = made_facts.write(tmp_path / "recordings", made_facts.a_day())
    code = f"""
from pathlib import Path
from exhibit.web import conversation, website
conversation.is_loopback = lambda host: False  # as if every page were on another computer
website.serve_replay(Path({str(path)!r}), port=0, cache_folder=Path({str(tmp_path)!r}),
                     ready=lambda address: print(address, flush=True))
"""
    web = web_processes.WebProcess(code)
    try:
        with Line(web) as line:
            assert "controls" not in line.ask()
            line.say("control", {"do": "pause", "value": 0})
            assert line.answer()[1] == {"refused": "only on the computer itself"}
    finally:
        web.end()
