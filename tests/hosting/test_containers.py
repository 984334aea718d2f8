"""The images and the compose file keep to what hosting/README.md says, as far as it can be read off them."""

import re
import shlex

import pytest
import yaml

from exhibit.commands.cli import main
from tests.hosting.containerfile import ROOT, stages
from tests.hosting.containers import COMPOSE, services

STAGES, SERVICES = stages(), services()
STARTED = {name: STAGES[name] for name in ("redis", "exhibit")}
PAGES = [name for name in SERVICES if name.startswith("page")]


@pytest.mark.parametrize("name", STARTED)
def test_an_image_is_on_a_bare_debian_runs_as_nobody_special_and_can_be_asked_how_it_is(name):
    assert STARTED[name].base == "docker.io/library/debian:bookworm-slim"
    assert STARTED[name].last("USER") == "10001"
    assert STARTED[name].health
    kinds = [kind for kind, _ in STARTED[name].steps]
    assert "RUN" not in kinds[kinds.index("USER") :]


def test_the_image_has_the_locked_files_and_the_wheel_and_leaves_what_installs_them_behind():
    done = [said for kind, said in STAGES["installed"].steps if kind == "RUN"]
    from_index = [said for said in done if "pip install" in said and "--no-index" not in said]
    assert len(from_index) == 1
    assert "--require-hashes -r /build/runtime.txt" in from_index[0]
    assert "pip uninstall -q -y pip" in done[-1]
    assert ("COPY", "--from=installed /opt/exhibit /opt/exhibit") in STAGES["exhibit"].steps


@pytest.mark.parametrize("name", SERVICES)
def test_a_container_can_write_nowhere_and_do_nothing_that_it_need_not(name):
    said = SERVICES[name]
    assert said["read_only"] is True
    assert said["cap_drop"] == ["ALL"]
    assert said["security_opt"] == ["no-new-privileges:true"]
    assert {"privileged", "environment", "env_file", "user"} & said.keys() == set()
    assert said["build"]["target"] in STARTED
    assert (ROOT / "hosting" / said["build"]["context"] / said["build"]["dockerfile"]).is_file()


def test_one_command_starts_redis_a_relay_and_three_workers_in_their_order():
    assert list(SERVICES) == ["prepare", "redis", "relay", "page-1", "page-2", "page-3"]
    assert SERVICES["redis"]["depends_on"] == {"prepare": {"condition": "service_completed_successfully"}}
    for name in ("relay", *PAGES):
        assert SERVICES[name]["depends_on"] == {"redis": {"condition": "service_healthy"}}
    assert [SERVICES[name]["ports"] for name in PAGES] == [[f"{port}:8000"] for port in (8001, 8002, 8003)]
    assert [name for name in SERVICES if "ports" in SERVICES[name]] == PAGES


def test_nobody_has_a_password_but_its_own_and_none_is_in_a_file_here():
    holds = {name: {v.split(":")[0] for v in said["volumes"]} for name, said in SERVICES.items()}
    assert {name for name in holds if "login-relay" in holds[name]} == {"prepare", "relay"}
    assert {name for name in holds if "login-page" in holds[name]} == {"prepare", *PAGES}
    assert {name for name in holds if "keys" in holds[name]} == {"prepare", "redis"}
    for path in sorted((ROOT / "hosting").iterdir()):
        text = path.read_text("utf-8")
        assert re.findall(r"[0-9a-f]{32,}|-----BEGIN", text) == [], path.name
        assert re.findall(r"(?i)password\s*[=:]\s*[^\s$]", text) == [], path.name


def test_redis_and_the_relay_reach_nothing_outside():
    assert SERVICES["redis"]["networks"] == SERVICES["relay"]["networks"] == ["inside"]
    assert SERVICES["prepare"]["network_mode"] == "none"
    networks = yaml.safe_load(COMPOSE.read_text("utf-8"))["networks"]
    assert networks["inside"] == {"internal": True}


def test_each_volume_that_is_used_is_declared():
    used = {volume.split(":")[0] for said in SERVICES.values() for volume in said["volumes"]}
    assert {name for name in used if not name.startswith("$")} == set(
        yaml.safe_load(COMPOSE.read_text("utf-8"))["volumes"]
    )


@pytest.mark.parametrize("name", ["relay", *PAGES])
def test_the_command_is_one_that_exhibit_has(needs, name):
    program, command, *rest = shlex.split(SERVICES[name]["command"])
    assert program == "exhibit"
    needs.that(command in main.commands, f"`exhibit {command}`, still to be written")
    options = {option for parameter in main.commands[command].params for option in parameter.opts}
    missing = {word for word in rest if word.startswith("--")} - options
    needs.that(not missing, f"options of `exhibit {command}`, still to be written: {missing}")


def test_only_what_the_images_need_is_sent_to_the_engine():
    sent = (ROOT / "hosting/Containerfile.dockerignore").read_text("utf-8").split()
    copied = {
        word
        for stage in STAGES.values()
        for kind, said in stage.steps
        if kind == "COPY" and not said.startswith("--from")
        for word in said.split()[:-1]
    }
    assert sent == ["*", *(f"!{name}" for name in sent[1:] for name in [name[1:]])]
    assert {name[1:] for name in sent[1:]} == copied
