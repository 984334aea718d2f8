"""The docent's page beyond this computer: only encrypted, with a certificate made as docs/desk.md says."""

from __future__ import annotations

import re
import socket
import ssl
import subprocess
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from exhibit.desk.serving import DeskOrder, serve_desk
from exhibit.facts.errors import SetUpFault
from exhibit.web.bounded_connections import BoundedServer
from tests.decisions.heron import MACHINE
from tests.desk.desks import Tablet, World, world

PAGE = Path(__file__).resolve().parents[2] / "docs" / "desk.md"


def documented_command() -> str:
    """The line of the page that makes a certificate, for this computer's own address."""
    command = re.findall(r"^openssl req .*$", PAGE.read_text("utf-8"), re.MULTILINE)[0]
    return str(command).replace("IP:192.0.2.7", "IP:127.0.0.1")


@pytest.fixture(scope="module")
def certificate(tmp_path_factory: pytest.TempPathFactory, needs: Any) -> Path:
    needs("openssl")
    folder = tmp_path_factory.mktemp("certificate")
    subprocess.run(documented_command(), shell=True, cwd=folder, check=True, capture_output=True)
    return folder / "desk.pem"


@pytest.fixture(scope="module")
def encrypted(tmp_path_factory: pytest.TempPathFactory, certificate: Path) -> Iterator[World]:
    files = {"certificate": certificate, "key": certificate.with_suffix(".key")}
    written = "{" + ", ".join(f"{name!r}: Path({str(path)!r})" for name, path in files.items()) + "}"
    with world(tmp_path_factory.mktemp("desk"), written) as made:
        yield made


def order(here: Path, **more: Any) -> DeskOrder:
    return DeskOrder(
        machine=MACHINE, recordings=here, people=here / "people.json", saved=here / "saved", port=0, **more
    )


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.0.2.7", "museum.example"])
def test_without_a_certificate_it_is_served_to_this_computer_only(tmp_path: Path, host: str) -> None:
    with pytest.raises(SetUpFault) as refused:
        serve_desk(order(tmp_path, host=host))
    assert "no certificate" in refused.value.what
    assert "--certificate" in refused.value.do


def test_a_key_that_others_can_read_is_refused(tmp_path: Path, certificate: Path) -> None:
    key = tmp_path / "key"
    key.write_bytes(certificate.with_suffix(".key").read_bytes())
    key.chmod(0o644)
    with pytest.raises(SetUpFault, match="chmod 600"):
        serve_desk(order(tmp_path, certificate=certificate, key=key))


def test_half_a_pair_and_what_is_no_certificate_are_refused_in_sentences(
    tmp_path: Path, certificate: Path
) -> None:
    with pytest.raises(SetUpFault, match="Give both"):
        serve_desk(order(tmp_path, certificate=certificate))
    wrong = tmp_path / "wrong"
    wrong.write_text("not a certificate")
    with pytest.raises(SetUpFault, match="can't be used with the key"):
        serve_desk(order(tmp_path, certificate=wrong, key=certificate.with_suffix(".key")))


def test_a_tablet_that_trusts_the_certificate_pairs_and_stops(encrypted: World, certificate: Path) -> None:
    trusting = ssl.create_default_context(cafile=certificate)
    tablet = Tablet(encrypted.port, trusting)
    tablet.open()
    assert tablet.asks("stop")[0] == 403
    known = encrypted.tablet(tls=trusting)
    assert known.asks("stop")[0] == 200
    assert known.post("/today/sign-in", {"initials": "AB"})[0] == 200
    for line in known.cookie_lines:
        assert {"Secure", "HttpOnly", "SameSite=Strict", "Path=/today"} <= {
            part.strip() for part in line.split(";")
        }


def test_one_that_does_not_trust_it_sends_nothing(encrypted: World) -> None:
    with pytest.raises(ssl.SSLCertVerificationError):
        Tablet(encrypted.port, ssl.create_default_context()).open()


def test_old_versions_of_tls_are_refused(encrypted: World) -> None:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.check_hostname, context.verify_mode = False, ssl.CERT_NONE
    context.set_ciphers("ALL:@SECLEVEL=0")
    with pytest.warns(DeprecationWarning, match="deprecated"):
        context.minimum_version, context.maximum_version = ssl.TLSVersion.TLSv1, ssl.TLSVersion.TLSv1_1
    with (
        socket.create_connection(("127.0.0.1", encrypted.port), 30) as connection,
        pytest.raises((ssl.SSLError, ConnectionResetError)),
    ):
        context.wrap_socket(connection)


def test_what_is_not_encrypted_gets_no_answer_and_others_are_answered(
    encrypted: World, certificate: Path
) -> None:
    connections = []
    for said in (b"GET /today HTTP/1.1\r\nHost: localhost\r\n\r\n", b"\x16\x03", b""):
        connection = socket.create_connection(("127.0.0.1", encrypted.port), 30)
        connection.sendall(said)
        connections.append(connection)
    tablet = Tablet(encrypted.port, ssl.create_default_context(cafile=certificate))
    assert "Today" in tablet.open()
    for connection in connections:
        came = b""
        try:
            while piece := connection.recv(4096):
                came += piece
        except OSError:
            pass
        assert b"HTTP" not in came
        connection.close()


def test_a_connection_that_never_gets_encrypted_gives_its_place_back() -> None:
    given_back: list[tuple[str, bool]] = []

    class Fails:
        ssl_args: Any = {}
        room = SimpleNamespace(give_back=lambda address, joined: given_back.append((address, joined)))

        def wrap_socket(self, connection: Any) -> None:
            raise ssl.SSLError

    server: Any = Fails()
    BoundedServer.wrap_socket_and_handle(server, server, ("192.0.2.1", 1))
    assert given_back == [("192.0.2.1", False)]
