"""What can go wrong with a line, in a docent's words: the one place where foreign errors end.

pyserial lets three families of errors out: its own and the system's (both OSError), `termios.error`
(which isn't one), and TypeError or ValueError when a port is closed under it or can't do a setting.
`line_faults` turns each into a LineFault that says what to try.
"""

from __future__ import annotations

import errno
import grp
import os
import pwd
import socket
import termios
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from exhibit.facts.errors import LineFault
from exhibit.facts.line_settings import USUAL_SPEEDS_BAUD, LineSettings
from exhibit.line.port_holders import holders

NUMBERED_TERMINALS = "/dev/pts/"
"""Names that the system gives to the next comer: a terminal that is gone may not be opened again by one."""
NOTHING_HEARD = "Until it works nothing is heard of the machine and nothing can be typed at it."

_WITH_A_UART = ("/dev/ttyS", "/dev/ttyUSB", "/dev/ttyAMA")

_MISSING = {errno.ENOENT, errno.ENODEV, errno.ENXIO, errno.ENOTDIR, errno.EIO}
_FORBIDDEN = {errno.EACCES, errno.EPERM}
_BUSY = {errno.EBUSY, errno.EAGAIN}
_NO_PORT = {errno.ENOTTY, errno.EISDIR}
_UNREACHABLE = {errno.EHOSTUNREACH, errno.ENETUNREACH, errno.ETIMEDOUT, errno.EHOSTDOWN}


class StillAway(LineFault):
    """The far end isn't there; it is usual while an adapter is unplugged or a box restarts."""


@contextmanager
def opening_faults(
    url: str, settings: LineSettings, ports_present: Callable[[], list[str]]
) -> Iterator[None]:
    """Turn whatever opening a port throws into a LineFault."""
    try:
        yield
    except (OSError, termios.error, TypeError, ValueError) as error:
        raise _not_opened(error, url, settings, ports_present) from error


@contextmanager
def running_faults(url: str) -> Iterator[None]:
    """Turn whatever reading from or typing at an open port throws into a LineFault."""
    try:
        yield
    except (OSError, termios.error, TypeError, ValueError) as error:
        raise lost(url) from error


def is_network(url: str) -> bool:
    """Whether the line goes over a network, so that there is no device on this computer."""
    return "://" in url


def keeps_time(url: str) -> bool:
    """Whether characters take the time on this line that its settings say, as far as its device tells.

    Not over a network, nor on a pseudo-terminal, nor on what calls itself a modem (ttyACM): there they come
    as fast as they will. The names are those of the Linux kernel, Documentation/admin-guide/devices.txt.
    """
    return not is_network(url) and os.path.realpath(url).startswith(_WITH_A_UART)


def unknown_kind(url: str) -> LineFault:
    """The line's address is of a kind that we don't have, or is cut short."""
    return LineFault(
        f"{url!r} isn't a line that this program knows.",
        NOTHING_HEARD,
        "Write a device such as /dev/ttyUSB0, or socket://HOST:PORT or rfc2217://HOST:PORT for a "
        "network adapter.",
    )


def shared(url: str, others: list[str]) -> LineFault:
    """Other programs have the port open."""
    if others:
        who = "it is open in " + ", ".join(others)
        do = "End that program, or let it use another port, and try again."
    else:
        who = "another program has locked it"
        do = (
            f"Find the program with `sudo fuser -v {url}`, end it and try again; often it is a terminal "
            "program left open, a login prompt on that port or a modem manager."
        )
    return LineFault(
        f"The port {url} is busy: {who}.", "Two programs on one port each get part of what it says.", do
    )


def settings_not_taken(url: str, settings: LineSettings) -> LineFault:
    """The port took other settings than those it was given."""
    kind = "A pseudo-terminal" if os.path.realpath(url).startswith("/dev/pts/") else f"The port {url}"
    return LineFault(
        f"{kind} can't do {settings.description()}.",
        "With other settings than the machine's each side reads nonsense.",
        "Compare the line settings in machine.toml with the machine's papers and with what the adapter can "
        "do; 8 bits without parity, and 7 bits with parity, work with every adapter.",
    )


def wrong_speed(url: str, settings: LineSettings) -> LineFault:
    """What comes in looks like noise (exhibit.decisions.console.noise)."""
    others = ", ".join(str(baud) for baud in USUAL_SPEEDS_BAUD if baud != settings.baud)
    return LineFault(
        f"What comes in on {url} at {settings.baud} baud is no text.",
        "Most likely the machine sends at another speed, and typing at it would be nonsense too.",
        f"Look up the speed in the machine's papers or on its switches, or try these one by one: {others}.",
    )


def wrong_parity(url: str, settings: LineSettings) -> LineFault:
    """What comes in is text, but for its eighth bit (exhibit.decisions.console.noise)."""
    return LineFault(
        f"The eighth bits of what comes in on {url} aren't those of {settings.description()}.",
        "The speed is right; the parity set here isn't the machine's.",
        "Try 7 bits with even parity, then with odd, then 8 bits without, in machine.toml.",
    )


def lost(url: str) -> LineFault:
    """The line was open and isn't any more. Whether the device still exists tells the likely cause."""
    if url.startswith(NUMBERED_TERMINALS):
        return LineFault(
            f"The terminal {url} is gone: the program at its far side has ended.",
            NOTHING_HEARD,
            "Start that program again, then this one with the terminal's new name.",
        )
    if is_network(url):
        what = f"The line {url} broke off: the far end or the network hung up."
        do = "See whether the network adapter is on and cabled, and whether another computer uses it."
    elif os.path.exists(url):
        what = (
            f"The port {url} is there, but broke off: its plug was out for a moment, or another program "
            "reads from it too."
        )
        do = f"Push the plug home; then see with `sudo fuser -v {url}` whether another program uses it."
    else:
        what = f"The port {url} is gone: the adapter was unplugged or lost its power."
        do = "Plug the adapter in again, into the same socket."
    return LineFault(what, NOTHING_HEARD, do + " It is tried again by itself until it works.")


def reader_failed(url: str, error: Exception) -> LineFault:
    """The thread that reads the line has met with what nobody foresaw."""
    return LineFault(
        f"This program's reader of the line {url} has failed ({type(error).__name__}: {error}).",
        "Nothing more is heard of the machine, and nothing can be typed at it.",
        "Look at the machine. When it is safe, start again; and show the engineer these words.",
    )


def _not_opened(
    error: Exception, url: str, settings: LineSettings, ports_present: Callable[[], list[str]]
) -> LineFault:
    if is_network(url):
        return _not_connected(error, url, settings)
    number = _error_number(error)
    if number in _MISSING:
        present = ports_present()
        listed = "This computer has " + (", ".join(present) if present else "no serial port") + "."
        return StillAway(
            f"There is no port {url}. {listed}",
            NOTHING_HEARD,
            "Plug the adapter in, or give the right port after --line; a name under /dev/serial/by-id/ "
            "stays the same when the adapter is plugged in elsewhere.",
        )
    if number in _FORBIDDEN:
        return _forbidden(url)
    if number in _BUSY:
        return shared(url, holders(url))
    if number == errno.EINVAL or isinstance(error, ValueError):
        return settings_not_taken(url, settings)
    if number in _NO_PORT:
        return LineFault(
            f"{url} is no serial port.", NOTHING_HEARD, "Give a port after --line, such as /dev/ttyUSB0."
        )
    return _odd("opened", error, url)


def _not_connected(error: Exception, url: str, settings: LineSettings) -> LineFault:
    number = _error_number(error)
    causes = list(_causes(error))
    check = "See whether the network adapter is on, and whether host and port are right."
    if number == errno.ECONNREFUSED:
        return StillAway(
            f"Nobody answers at {url}: the computer is there, but refuses the connection.",
            NOTHING_HEARD,
            check + " Some adapters refuse while another computer is connected.",
        )
    if any(isinstance(cause, socket.gaierror) for cause in causes):
        return StillAway(f"The host in {url} is not known.", NOTHING_HEARD, check)
    if number in _UNREACHABLE or any(isinstance(cause, TimeoutError) for cause in causes):
        return StillAway(f"Nobody answers at {url}.", NOTHING_HEARD, check)
    said = str(error)
    if "parameter change" in said or "rejected value" in said:
        return settings_not_taken(url, settings)
    if url.lower().startswith("rfc2217:"):
        return StillAway(
            f"{url} doesn't answer as RFC 2217 asks.",
            NOTHING_HEARD,
            f"Try {url.replace('rfc2217:', 'socket:', 1)}, with the speed set at the adapter itself; or see "
            "whether another computer is connected to it.",
        )
    return _odd("connected", error, url)


def _forbidden(url: str) -> LineFault:
    user = _own_name()
    try:
        found = os.stat(url)
        group = grp.getgrgid(found.st_gid).gr_name
        group_may = found.st_mode & 0o060 == 0o060 and group != "root"
    except (OSError, KeyError):
        group, group_may = "dialout", True  # the usual group of serial ports
    if group_may:
        do = f"Let an administrator run `sudo usermod -aG {group} {user}`, then sign out and in again."
    else:
        do = (
            f"Let an administrator run `sudo chgrp dialout {url} && sudo chmod g+rw {url}` and "
            f"`sudo usermod -aG dialout {user}`, then sign out and in again."
        )
    return LineFault(f"The user {user} may not use the port {url}.", NOTHING_HEARD, do)


def _odd(verb: str, error: Exception, url: str) -> LineFault:
    return LineFault(
        f"The line {url} could not be {verb} ({error}).",
        NOTHING_HEARD,
        "Check cable and adapter, and try again.",
    )


def _causes(error: BaseException | None) -> Iterator[BaseException]:
    while error is not None:
        yield error
        error = error.__cause__ or error.__context__


def _error_number(error: Exception) -> int | None:
    """The system's own error number, which pyserial often leaves one exception further down."""
    for cause in _causes(error):
        if isinstance(cause, termios.error) and cause.args and isinstance(cause.args[0], int):
            return cause.args[0]
        if isinstance(cause, OSError) and cause.errno is not None:
            return cause.errno
    return None


def _own_name() -> str:
    try:
        return pwd.getpwuid(os.geteuid()).pw_name
    except KeyError:
        return str(os.geteuid())
