"""What systemd says of each service, and who has the page's port."""

from __future__ import annotations

import http.server
import threading
from contextlib import closing

import pytest

from exhibit.doctor.services import looks_at_page, looks_at_services
from exhibit.web.places import web_folder
from exhibit.web.website import listen
from tests.doctor.made_computer import keys


def state(load: str = "loaded", active: str = "active", enabled: str = "enabled") -> str:
    return f"LoadState={load}\nActiveState={active}\nUnitFileState={enabled}\nNRestarts=2\nResult=watchdog\n"


def test_without_systemd_that_is_all(made):
    assert keys(looks_at_services(made.computer)) == ["no systemd"]


def test_without_services_that_is_all(made):
    made.boots_systemd()
    made.answers["systemctl show"] = state(load="not-found")
    assert keys(looks_at_services(made.computer)) == ["no service"]


@pytest.mark.parametrize(
    ("active", "enabled", "key"),
    [
        ("active", "enabled", "service runs"),
        ("failed", "enabled", "service failed"),
        ("failed", "disabled", "service failed"),
        ("inactive", "enabled", "service stopped"),
        ("activating", "enabled", "service starting"),
        ("inactive", "disabled", "service off"),
    ],
)
def test_each_state_of_a_service(made, active, enabled, key):
    made.boots_systemd()
    made.answers["systemctl show exhibit-page.service"] = state(active=active, enabled=enabled)
    (found,) = looks_at_services(made.computer)
    assert found.key == key
    assert found.places == {"unit": "exhibit-page", "restarts": "2", "why": "watchdog"}


def free_port() -> int:
    with closing(listen("127.0.0.1", 0)) as listening:
        return listening.getsockname()[1]


def test_a_port_that_nobody_has_is_free():
    assert keys(looks_at_page(free_port())) == ["page port free"]


@pytest.mark.parametrize("ours", [True, False])
def test_the_page_s_own_port_is_told_from_another_program_s(ours):
    said = (web_folder() / "visitor/index.html").read_bytes() if ours else b"<p>another program</p>"

    class Says(http.server.BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self.send_response(200)
            self.end_headers()
            self.wfile.write(said)

        def log_message(self, *_: object) -> None:
            pass

    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), Says) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        try:
            found = keys(looks_at_page(server.server_port))
        finally:
            server.shutdown()
    assert found == ["page served" if ours else "page port taken"]
