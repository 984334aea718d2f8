"""What can go wrong with a line, in words for a docent: turns every error of pyserial into a LineFault.

pyserial raises three families of errors: its own and the system's (both OSError), `termios.error` (which
isn't an OSError), and TypeError or ValueError if a port is closed during a call or doesn't support a setting.
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
"""The system reuses these names: once a terminal is gone, its name may belong to somebody else's."""
LASTING_NAMES = "/dev/serial/by-id"
"""The system's links to adapters, which keep their names wherever an adapter is plugged in."""
NO_CONNECTION = "Until this is solved, nothing can be received from the machine or typed at it."

_WITH_A_UART = ("/dev/ttyS", "/dev/ttyUSB", "/dev/ttyAMA")

_MISSING = {errno.ENOENT, errno.ENODEV, errno.ENXIO, errno.ENOTDIR, errno.EIO}
_FORBIDDEN = {errno.EACCES, errno.EPERM}
_BUSY = {errno.EBUSY, errno.EAGAIN}
_NO_PORT = {errno.ENOTTY, errno.EISDIR}
_UNREACHABLE = {errno.EHOSTUNREACH, errno.ENETUNREACH, errno.ETIMEDOUT, errno.EHOSTDOWN}


class StillAway(LineFault):
    """The far end isn't there, as while an adapter is unplugged or a network adapter restarts."""


@contextmanager
def opening_faults(
    url: str, settings: LineSettings, ports_present: Callable[[], list[str]]
) -> Iterator[None]:
    """Turn whatever opening a port raises into a LineFault."""
    try:
        yield
    except (OSError, termios.error, TypeError, ValueError) as error:
        raise _not_opened(error, url, settings, ports_present) from error


@contextmanager
def running_faults(url: str) -> Iterator[None]:
    """Turn whatever reading from or typing at an open port raises into a LineFault."""
    try:
        yield
    except (OSError, termios.error, TypeError, ValueError) as error:
        raise lost(url) from error


def is_network(url: str) -> bool:
    """Whether the line runs over a network, so that this computer has no device for it."""
    return "://" in url


def keeps_time(url: str) -> bool:
    """Whether each character takes as long on this line as its settings say, judging by its device name.

    Over a network, on a pseudo-terminal and on a USB modem (ttyACM), characters can arrive faster. The names
    are those of the Linux kernel, Documentation/admin-guide/devices.txt.
    """
    return not is_network(url) and os.path.realpath(url).startswith(_WITH_A_UART)


def unknown_kind(url: str) -> LineFault:
    """The line's address is incomplete, or of a kind that this program doesn't have."""
    return LineFault(
        f"{url!r} is not the address of a line.",
        NO_CONNECTION,
        "Give a device such as /dev/ttyUSB0, or socket://HOST:PORT or rfc2217://HOST:PORT for a "
        "network adapter.",
    )


def shared(url: str, others: list[str]) -> LineFault:
    """Another program has the port open; `others` are their names, as far as known."""
    if others:
        who = "it is open in " + ", ".join(others)
        do = "End that program, or have it use another port, then try again."
    else:
        who = "another program has locked it"
        do = (
            f"Find that program with `sudo fuser -v {url}`, end it, then try again. Often it is a terminal "
            "program, a login prompt on that port or a modem manager."
        )
    return LineFault(
        f"The port {url} is busy: {who}.",
        "If two programs read one port, each gets only part of what the machine sends.",
        do,
    )


def settings_unsupported(url: str, settings: LineSettings) -> LineFault:
    """The port rejected these settings, or silently uses different ones."""
    kind = "A pseudo-terminal" if os.path.realpath(url).startswith("/dev/pts/") else f"The port {url}"
    return LineFault(
        f"{kind} doesn't support {settings.description()}.",
        "With settings other than the machine's, both sides receive nonsense.",
        "Compare the line settings in machine.toml with the machine's papers and with what the adapter "
        "supports. 8 bits without parity, and 7 bits with parity, work with every adapter.",
    )


def wrong_speed(url: str, settings: LineSettings, seen: str) -> LineFault:
    """What arrives looks like noise (exhibit.decisions.console.noise). `seen`: what was seen of it."""
    others = ", ".join(str(baud) for baud in USUAL_SPEEDS_BAUD if baud != settings.baud)
    return LineFault(
        f"What arrives on {url} at {settings.baud} baud isn't text: {seen}.",
        "The machine most likely uses another speed, so it couldn't read what is typed either.",
        f"Look up the speed in the machine's papers or from its switches, or try these one by one: {others}.",
    )


def wrong_parity(url: str, settings: LineSettings, seen: str) -> LineFault:
    """What arrives is text except for its eighth bit (exhibit.decisions.console.noise). `seen`: as above."""
    return LineFault(
        f"The eighth bit of what arrives on {url} doesn't fit {settings.description()}: {seen}.",
        "The speed is right, but the parity in machine.toml isn't the machine's.",
        "In machine.toml, try 7 bits with even parity, then with odd parity, then 8 bits without parity.",
    )


def lost(url: str) -> LineFault:
    """The line was open and has been lost. Whether its device still exists suggests the cause."""
    if url.startswith(NUMBERED_TERMINALS):
        return LineFault(
            f"The terminal {url} is gone: the program at its other end has ended.",
            NO_CONNECTION,
            "Start that program again, then this one with the terminal's new name.",
        )
    if is_network(url):
        what = f"The connection to {url} broke: the far end or the network closed it."
        do = "Check that the network adapter is on and plugged in, and that no other computer is using it."
    elif os.path.exists(url):
        what = (
            f"The port {url} failed, but still exists: its plug was out for a moment, or another program "
            "is reading from it too."
        )
        do = (
            f"Push the plug in firmly, then check with `sudo fuser -v {url}` whether another program uses it."
        )
    else:
        what = f"The port {url} is gone: the adapter was unplugged or lost power."
        do = "Plug the adapter in again, into the same socket."
    return LineFault(what, NO_CONNECTION, do + " Meanwhile the program keeps trying to open the line.")


def elsewhere(url: str, came: list[str]) -> str:
    """What to do if, while the line is lost, these other ports have appeared."""
    lasting = [name for name in came if name.startswith(LASTING_NAMES)]
    name = (lasting or came)[0]
    keeps = " That name stays the same wherever the adapter is plugged in." if lasting else ""
    return (
        f"The port {url} is still gone, but {' and '.join(came)} has appeared since. If that is the adapter, "
        f"end this program and start it again with --line {name}.{keeps}"
    )


def reader_failed(url: str, error: Exception) -> LineFault:
    """The thread that reads the line failed with an unexpected error."""
    return LineFault(
        f"The part of this program that reads the line {url} has failed ({type(error).__name__}: {error}).",
        "Nothing more can be received from the machine or typed at it.",
        "Look at the machine. When it is safe, start the program again, and show the engineer this message.",
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
            NO_CONNECTION,
            "Plug the adapter in, or give the right port after --line. A name under /dev/serial/by-id/ "
            "stays the same when the adapter is plugged in elsewhere.",
        )
    if number in _FORBIDDEN:
        return _forbidden(url)
    if number in _BUSY:
        return shared(url, holders(url))
    if number == errno.EINVAL or isinstance(error, ValueError):
        return settings_unsupported(url, settings)
    if number in _NO_PORT:
        return LineFault(
            f"{url} isn't a serial port.", NO_CONNECTION, "Give a port after --line, such as /dev/ttyUSB0."
        )
    return _other_fault(error, url)


def _not_connected(error: Exception, url: str, settings: LineSettings) -> LineFault:
    number = _error_number(error)
    causes = list(_causes(error))
    check = "Check that the network adapter is on, and that host and port are right."
    if number == errno.ECONNREFUSED:
        return StillAway(
            f"The computer at {url} is there, but refuses the connection.",
            NO_CONNECTION,
            check + " Some adapters refuse while another computer is connected.",
        )
    if any(isinstance(cause, socket.gaierror) for cause in causes):
        return StillAway(f"The host name in {url} can't be found.", NO_CONNECTION, check)
    if number in _UNREACHABLE or any(isinstance(cause, TimeoutError) for cause in causes):
        return StillAway(f"There is no answer from {url}.", NO_CONNECTION, check)
    said = str(error)
    if "parameter change" in said or "rejected value" in said:
        return settings_unsupported(url, settings)
    if url.lower().startswith("rfc2217:"):
        return StillAway(
            f"{url} doesn't answer as RFC 2217 requires.",
            NO_CONNECTION,
            f"Try {url.replace('rfc2217:', 'socket:', 1)}, with the speed set at the adapter, or check "
            "whether another computer is connected to it.",
        )
    return _other_fault(error, url)


def _forbidden(url: str) -> LineFault:
    user = _user_name()
    try:
        found = os.stat(url)
        group = grp.getgrgid(found.st_gid).gr_name
        group_may = found.st_mode & 0o060 == 0o060 and group != "root"
    except (OSError, KeyError):
        group, group_may = "dialout", True  # the usual group of serial ports
    if group_may:
        do = f"Ask an administrator to run `sudo usermod -aG {group} {user}`, then sign out and in again."
    else:
        do = (
            f"Ask an administrator to run `sudo chgrp dialout {url} && sudo chmod g+rw {url}` and "
            f"`sudo usermod -aG dialout {user}`, then sign out and in again."
        )
    return LineFault(f"The user {user} isn't allowed to use the port {url}.", NO_CONNECTION, do)


def _other_fault(error: Exception, url: str) -> LineFault:
    return LineFault(
        f"The line {url} could not be opened ({error}).",
        NO_CONNECTION,
        "Check the cable and the adapter, then try again.",
    )


def _causes(error: BaseException | None) -> Iterator[BaseException]:
    while error is not None:
        yield error
        error = error.__cause__ or error.__context__


def _error_number(error: Exception) -> int | None:
    """The system's error number, which pyserial often hides in the cause of its own exception."""
    for cause in _causes(error):
        if isinstance(cause, termios.error) and cause.args and isinstance(cause.args[0], int):
            return cause.args[0]
        if isinstance(cause, OSError) and cause.errno is not None:
            return cause.errno
    return None


def _user_name() -> str:
    try:
        return pwd.getpwuid(os.geteuid()).pw_name
    except KeyError:
        return str(os.geteuid())
