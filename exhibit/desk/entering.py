"""Pairing a device, signing in and signing out."""

from __future__ import annotations

import secrets

import flask

from exhibit.desk import browser as browsers
from exhibit.desk import passwords, words
from exhibit.desk.answering import Desk, Refusal, checked, message, renewed
from exhibit.desk.messages import Nothing, Pairing, SignIn
from exhibit.desk.people import People, Role

NO_PASSWORD = passwords.of_nobody()
"""Compared where there is no such engineer, so that the time it takes doesn't show that."""


def add_to(app: flask.Flask, desk: Desk) -> None:
    """Add their addresses."""

    @app.post("/today/pair")
    def pair() -> flask.Response:
        browser = checked(desk)
        code = message(Pairing).code
        if browser.device is not None:
            raise Refusal(409, words.PAIRED_ALREADY)
        address = _may_try(desk)
        token = secrets.token_urlsafe(32)
        given = {"code": code, "token": token}
        why = desk.helper.do("pair", f"{desk.people.path}", given=given).get("why", "")
        if why:
            desk.note("a device was not paired")
            raise Refusal(403, words.not_paired(why))
        desk.delays.was_right(address)
        desk.note("a device was paired")
        return renewed(desk, {"accepted": True, "why": ""}, browsers.new_name(), token)

    @app.post("/today/sign-in")
    def sign_in() -> flask.Response:
        browser = checked(desk)
        said = message(SignIn)
        if browser.device is None:
            raise Refusal(403, words.NOT_PAIRED)
        people = desk.people.current()
        role, number = _docent(people, said) if said.initials else _engineer(desk, people, said)
        name = desk.sessions.sign_in(browser.device.number, role, number)
        desk.note(f"{role} {number} signed in")
        person = people.person(role, number)
        shown = getattr(person, "initials", "") or getattr(person, "name", "")
        return renewed(desk, {"accepted": True, "why": "", "signed_in": {"role": role, "name": shown}}, name)

    @app.post("/today/sign-out")
    def sign_out() -> flask.Response:
        browser = checked(desk)
        message(Nothing)
        if browser.session is not None:
            desk.note(f"{browser.by} signed out")
            desk.sessions.end(browser.session)
        return renewed(desk, {"accepted": True, "why": ""}, browsers.new_name())


def _docent(people: People, said: SignIn) -> tuple[Role, int]:
    docent = people.docent(said.initials)
    if docent is None:
        raise Refusal(403, words.NOBODY)
    return "docent", docent.number


def _engineer(desk: Desk, people: People, said: SignIn) -> tuple[Role, int]:
    address = _may_try(desk)
    engineer = people.engineer(said.name)
    given = {"password": said.password, "kept": engineer.password if engineer else NO_PASSWORD}
    right = desk.helper.do("password", given=given).get("right", False)
    if engineer is None or not right:
        desk.note("a password was not right")
        raise Refusal(403, words.NOT_RIGHT)
    desk.delays.was_right(address)
    return "engineer", engineer.number


def _may_try(desk: Desk) -> str:
    """The address that tries to guess, perhaps; it is the connection's. Raises Refusal if it has to wait."""
    address: str = flask.request.environ["REMOTE_ADDR"]
    wait_s = desk.delays.wait_s(address)
    if wait_s > 0:
        raise Refusal(429, words.wait(wait_s))
    desk.delays.tries(address)
    return address
