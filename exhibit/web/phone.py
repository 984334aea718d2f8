"""The page on a visitor's own phone: its address on this network, and that address as a QR code.

Only where the page is served beyond this computer. Finding the address out involves no other computer.
"""

from __future__ import annotations

import io
import ipaddress
import socket
import time

import segno

LOOK_AGAIN_S = 30.0
"""How long to keep an address before looking it up again: the network may come up after the computer."""
_NOWHERE = "192.0.2.1"
"""An address for documentation (RFC 5737). No packet is sent: it only shows which interface one would use."""


def is_loopback(host: str) -> bool:
    """Whether this name or address means this computer only."""
    try:
        return ipaddress.ip_address(host.partition("%")[0]).is_loopback
    except ValueError:
        return host == "localhost"


def in_url(host: str) -> str:
    """The host as it is written in a URL: an IPv6 address in brackets."""
    return f"[{host}]" if ":" in host else host


class Phone:
    """Where a phone finds the page."""

    def __init__(self, host: str, port: int) -> None:
        self._host, self._port = host, port
        self._only_here = is_loopback(host)
        self._address = ""
        self._looked_s = float("-inf")

    def address(self) -> str:
        """The page's address on this network; "" if a phone can't reach it."""
        if self._only_here:
            return ""
        if time.monotonic() - self._looked_s > LOOK_AGAIN_S:
            self._looked_s = time.monotonic()
            host = self._host if self._is_one_address() else own_address()
            self._address = f"http://{in_url(host)}:{self._port}/" if host else ""
        return self._address

    def picture(self) -> bytes:
        """The address as a QR code (ISO/IEC 18004), an SVG in the page's colours; empty if there is none."""
        address = self.address()
        if not address:
            return b""
        out = io.BytesIO()
        code = segno.make_qr(address, error="m")
        code.save(out, kind="svg", border=4, dark="#10294a", light="#fcfdfe", xmldecl=False, omitsize=True)
        return out.getvalue()

    def _is_one_address(self) -> bool:
        """Whether the page is served at one address, rather than at all those of this computer."""
        try:
            return not ipaddress.ip_address(self._host).is_unspecified
        except ValueError:
            return True


def own_address() -> str:
    """This computer's address on its network; "" if it is on none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect((_NOWHERE, 9))
            found = str(probe.getsockname()[0])
        except OSError:
            return ""
    return "" if is_loopback(found) or found == "0.0.0.0" else found
