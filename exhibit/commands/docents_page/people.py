"""The commands that say who may use the docent's page: `exhibit desk pair` and `exhibit desk people`."""

from __future__ import annotations

import time
import unicodedata
from collections.abc import Callable
from pathlib import Path

import click

from exhibit.commands.options import FILE, recordings_by_default
from exhibit.desk import passwords
from exhibit.desk.people import Docent, Engineer, People, PeopleFile, new_code
from exhibit.facts.errors import SetUpFault
from exhibit.output.terminal import put

LONGEST_INITIALS, LONGEST_NAME = 4, 40


def people_by_default() -> Path:
    """The list of people where none is named, beside the folder for recordings."""
    return recordings_by_default().parent / "people.json"


def people_option(command: Callable[..., None]) -> Callable[..., None]:
    """Adds --people."""
    return click.option(
        "--people", type=FILE, default=people_by_default, help="File with who may use the docent's page."
    )(command)


@click.command()
@people_option
def pair(people: Path) -> None:
    """Shows a code with which one more device can use the docent's page."""
    with PeopleFile(people).change() as known:
        code = new_code(known, time.time())
    put(
        f"The code: {code[:4]} {code[4:]}",
        "Type it on the device within ten minutes. It is good for one device.",
    )


@click.group("people", invoke_without_command=True)
@people_option
@click.pass_context
def people_list(context: click.Context, people: Path) -> None:
    """Lists who may use the docent's page; with a command, adds or removes somebody."""
    context.obj = file = PeopleFile(people)
    if context.invoked_subcommand is None:
        put(*_listed(file.read() if people.exists() else People()))


@people_list.command()
@click.argument("initials")
@click.pass_obj
def docent(file: PeopleFile, initials: str) -> None:
    """Adds a docent by their INITIALS."""
    initials = _plain(initials, LONGEST_INITIALS, "initials")
    with file.change() as people:
        if people.docent(initials) is not None:
            raise _there_already(initials)
        added = Docent(number=people.next_number("docent"), initials=initials)
        people.docents.append(added)
    put(f"{initials} is docent {added.number} in the recordings.")


@people_list.command()
@click.argument("name")
@click.pass_obj
def engineer(file: PeopleFile, name: str) -> None:
    """Adds an engineer by NAME, and asks for a password."""
    name = _plain(name, LONGEST_NAME, "a name")
    if file.path.exists() and file.read().engineer(name) is not None:
        raise _there_already(name)
    password = _new_password(name)
    with file.change() as people:
        if people.engineer(name) is not None:
            raise _there_already(name)
        added = Engineer(number=people.next_number("engineer"), name=name, password=password)
        people.engineers.append(added)
    put(f"{name} is engineer {added.number} in the recordings.")


@people_list.command("password")
@click.argument("name")
@click.pass_obj
def reset(file: PeopleFile, name: str) -> None:
    """Sets a new password for the engineer NAME, and signs them out everywhere."""
    if not file.path.exists() or file.read().engineer(name) is None:
        raise _not_there(name)
    password = _new_password(name)
    with file.change() as people:
        known = people.engineer(name)
        if known is None:
            raise _not_there(name)
        known.password = password
    put(f"{known.name} has a new password, and is signed out everywhere.")


@people_list.command()
@click.argument("who")
@click.pass_obj
def remove(file: PeopleFile, who: str) -> None:
    """Removes WHO: initials, an engineer's name, or a device such as "tablet 2"."""
    with file.change() as people:
        before = len(people.docents) + len(people.engineers) + len(people.devices)
        docent, engineer = people.docent(who), people.engineer(who)
        people.docents = [one for one in people.docents if one is not docent]
        people.engineers = [one for one in people.engineers if one is not engineer]
        people.devices = [one for one in people.devices if f"tablet {one.number}" != who.strip().casefold()]
        if before == len(people.docents) + len(people.engineers) + len(people.devices):
            raise _not_there(who)
    put(f"{who} is removed, and can no longer use the docent's page. Recordings keep only the number.")


def _listed(people: People) -> list[str]:
    lines = [f"docent {one.number}: {one.initials}" for one in people.docents]
    lines += [f"engineer {one.number}: {one.name}" for one in people.engineers]
    lines += [f"tablet {one.number}: paired on {one.paired}" for one in people.devices]
    return lines or [
        "Nobody may use the docent's page yet. Add people with `exhibit desk people docent INITIALS`."
    ]


def _new_password(name: str) -> str:
    """What is kept of a password that is asked for at the terminal, twice."""
    password: str = click.prompt("Password", hide_input=True, confirmation_prompt="The same again")
    passwords.check_new(password, name)
    return passwords.hashed(password)


def _plain(text: str, longest: int, what: str) -> str:
    text = unicodedata.normalize("NFC", text.strip())
    if not 1 <= len(text) <= longest or not all(one.isalnum() or one in " .-'" for one in text):
        raise SetUpFault(
            f"These can't be somebody's {what}: {text!r}."
            if what == "initials"
            else f"This can't be a name: {text!r}.",
            "They are shown as a button or at the top of the docent's page.",
            f"Give 1 to {longest} letters.",
        )
    return text


def _there_already(who: str) -> SetUpFault:
    return SetUpFault(
        f"{who} is there already.",
        "Two people of one name couldn't be told apart.",
        "Choose another, or remove the one that is there with `exhibit desk people remove`.",
    )


def _not_there(who: str) -> SetUpFault:
    return SetUpFault(
        f"There is nobody and no device called {who}.",
        "So nothing was changed.",
        "`exhibit desk people` lists who there is.",
    )
