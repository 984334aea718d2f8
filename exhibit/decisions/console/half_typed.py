"""The words for a person about part of a command that stays on the console because nothing cancels it."""

from __future__ import annotations

from typing import Final

from exhibit.decisions.machine.description import Typing

_DO: Final = (
    "Nothing more is typed, because RETURN could execute it. "
    "Remove it at the machine itself, see that nothing is left after its prompt, and only then say go on"
)


def no_cancel_key(what: str) -> str:
    """Part of a command stays on the console, and the machine has no cancel key. `what` says which part."""
    return f"{what}, and this machine has no key that cancels it. {_DO}"


def cancel_not_shown(what: str) -> str:
    """The cancel key was typed, but the machine doesn't show whether it took it."""
    return f"{what}. The cancel key was typed, but this machine doesn't show whether it took it. {_DO}"


def part(typed: str, shown: str = "", *, secret: bool = False, returned: bool = False) -> str:
    """What is half typed. `shown`: what the machine printed for it; `returned`: RETURN was typed after it."""
    if secret:
        return "part of a secret is half typed on the console"
    if returned:
        what = f'"{typed}" and RETURN' if typed else "RETURN alone"
        return (
            f"{what} were typed, and the machine hasn't shown that it took them"
            if typed
            else (f"{what} was typed, and the machine hasn't shown that it took it")
        )
    also = f' (the console shows "{shown}")' if shown and shown.upper() != typed.upper() else ""
    return (
        f'"{typed}" is half typed on the console{also}'
        if typed
        else ("part of a command may be half typed on the console")
    )


def words(typing: Typing, what: str) -> str:
    """The words for what is given up half typed; empty if the cancel key is sure to have cancelled it."""
    if not typing.cancel:
        return no_cancel_key(what)
    unseen = typing.after_cancel == "nothing" and not typing.show_again
    return cancel_not_shown(what) if unseen else ""
