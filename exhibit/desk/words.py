"""What the desk says when it doesn't do what somebody asked: what happened, and what to do now."""

from __future__ import annotations

from typing import Final

from exhibit.desk.rights import ENGINEERS, NOT_BY_ITSELF, Who
from exhibit.facts.session_facts import RequestKind

NOT_FROM_THE_PAGE: Final = (
    "This page is no longer current, so nothing was done. Reload the page and try again."
)
NOT_UNDERSTOOD: Final = (
    "This page sent something that can't be understood, so nothing was done. Reload the page."
)
TOO_LONG: Final = "That is too long, so it wasn't taken. Shorten it and send it again."
NOT_PAIRED: Final = (
    "This device isn't paired, so nothing can be asked or stopped from it. An engineer pairs it with a code: "
    "`exhibit desk pair` shows one at the machine's own computer."
)
ENGINEERS_ONLY: Final = "Only an engineer may have the machine's keyboard. Call one, or sign in as one."
SIGN_IN_FIRST: Final = "Nobody is signed in on this device, so nothing was done. Tap your initials first."
SIGNED_OUT: Final = "You are signed out. Sign in again to go on."
NOTES_ELSEWHERE: Final = "A note needs its words. Write it under the notes of this page."
TOO_MANY_OPEN: Final = "This page is open too often on this device. Close the other windows, then reload it."
NOBODY: Final = (
    "There is nobody with these initials, so nobody is signed in. Tap your own, or have them added."
)
NOT_RIGHT: Final = "The name and the password don't belong together, so nobody is signed in. Try again."
NO_CODE: Final = (
    "No code is valid just now. Codes last ten minutes, and each is for one device. An engineer gets a new "
    "one with `exhibit desk pair`."
)
WRONG_CODE: Final = (
    "That isn't the code, so this device isn't paired. Look at it again and type all eight digits."
)
TOO_MANY_DEVICES: Final = (
    "Too many devices are paired, so this one wasn't added. An engineer removes one that is no longer used, "
    "with `exhibit desk people remove`."
)
PAIRED_ALREADY: Final = "This device is paired already. Sign in on it."
DISC_FULL: Final = (
    "The disc is nearly full, so it wasn't kept: the rest is needed for the recording. Tell an engineer."
)
NO_PICTURE: Final = (
    "That file is neither a JPEG nor a PNG picture, so it wasn't kept. Take a photograph again."
)
PICTURE_TOO_LARGE: Final = "That picture has more than 10 MB, so it wasn't kept. Take a smaller one."
NOTHING_WRITTEN: Final = "Nothing is written there, so nothing was kept. Write what you saw, heard or smelt."
NO_RECORDING: Final = "There is no recording of this machine yet, so there is nothing to keep."
NOT_KEPT: Final = (
    "It couldn't be written on the disc of this computer. Write it on paper, and tell an engineer."
)
KEPT_BUT_NOT_RECORDED: Final = (
    "It is kept, but the recording doesn't say so: the program that talks to the machine didn't take it."
)
_NOT_KEPT: Final = {
    "disc full": DISC_FULL,
    "no picture": NO_PICTURE,
    "too long": PICTURE_TOO_LARGE,
    "no recording": NO_RECORDING,
}
_NOT_PAIRED_BECAUSE: Final = {
    "no code": NO_CODE,
    "wrong code": WRONG_CODE,
    "too many": TOO_MANY_DEVICES,
}
_NOT_WRITTEN: Final = "This computer couldn't add the device to its list of people. Tell an engineer."


def why_not(who: Who, request: RequestKind) -> str:
    """Why this person, or this device, may not ask for that."""
    if who == "stranger":
        return NOT_PAIRED
    if request in NOT_BY_ITSELF:
        return NOTES_ELSEWHERE
    return ENGINEERS_ONLY if who == "docent" and request in ENGINEERS else SIGN_IN_FIRST


def not_kept(why: str) -> str:
    """Why a note wasn't kept: see keeping.NotKept. Anything else is the disc's fault."""
    return _NOT_KEPT.get(why, NOT_KEPT)


def not_paired(why: str) -> str:
    """Why a device wasn't paired: see people.pair."""
    return _NOT_PAIRED_BECAUSE.get(why, _NOT_WRITTEN)


def wait(seconds: float) -> str:
    """How long to wait before the next try."""
    whole = max(1, round(seconds + 0.5))
    return f"There were several wrong tries from here. Wait {whole} seconds, then try again."
