"""A wheel carries its bill of materials and the licences of all that is in it."""

import base64
import json
import os
import re
import shutil
import subprocess
import sys
import tomllib
import zipfile
from email import message_from_bytes
from importlib.metadata import distribution
from pathlib import Path

import pytest
from cyclonedx.schema import SchemaVersion
from cyclonedx.validation.json import JsonStrictValidator
from packaging.markers import Marker
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from supply.bill import Incomplete, Locked, bill_of_materials, locked_in

ROOT = Path(__file__).resolve().parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
LICENCES = tomllib.loads((ROOT / "supply/licences.toml").read_text("utf-8"))
NPM_LOCK = json.loads((ROOT / "web/package-lock.json").read_text("utf-8"))["packages"]
RUNS = {package.name: package for package in locked_in((ROOT / "supply/runtime.txt").read_text("utf-8"))}
LETS_US_BE_PASSED_ON = {
    *("MIT", "MIT-CMU", "BSD-2-Clause", "BSD-3-Clause", "Apache-2.0", "PSF-2.0", "ZPL-2.1"),
    # Weaker conditions than on all that it is used with: on their own files, and on the library itself.
    *("MPL-2.0", "LGPL-3.0-only"),
}
FORMERLY_SAID = {
    "MIT": "MIT",
    "BSD": "BSD-3-Clause",
    "GNU Lesser General Public License v3 (LGPLv3)": "LGPL-3.0-only",
    "Apache Software License": "Apache-2.0",
    "Apache-2.0": "Apache-2.0",
}
"""What packages say that don't use SPDX yet. Each BSD licence here was read: it has three clauses."""


def built_wheel(out: Path) -> zipfile.ZipFile:
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", out]
    done = subprocess.run(command, cwd=ROOT, env=os.environ, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return zipfile.ZipFile(next(out.glob("*.whl")))


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    with built_wheel(tmp_path_factory.mktemp("wheel")) as opened:
        yield opened


def only(wheel: zipfile.ZipFile, pattern: str) -> bytes:
    (name,) = [name for name in wheel.namelist() if re.search(pattern, name)]
    return wheel.read(name)


@pytest.fixture(scope="module")
def bill(wheel) -> dict:
    return json.loads(only(wheel, r"^[^/]+\.dist-info/sboms/exhibit\.cdx\.json$"))


def listed(bill: dict) -> dict[str, dict]:
    return {component["purl"]: component for component in bill["components"]}


def test_the_bill_is_valid_by_its_standard_s_schema(wheel):
    text = only(wheel, r"sboms/exhibit\.cdx\.json$").decode()
    assert JsonStrictValidator(SchemaVersion.V1_6).validate_str(text) is None


def test_a_bill_that_breaks_the_schema_would_be_refused(bill):
    wrong = json.dumps({**bill, "components": [{"name": "without a type"}]})
    assert JsonStrictValidator(SchemaVersion.V1_6).validate_str(wrong) is not None


def test_the_bill_names_everything_that_runs_with_its_version_licence_and_digests(bill):
    there = listed(bill)
    for package in RUNS.values():
        if package.is_for_linux():
            entry = there[f"pkg:pypi/{package.name}@{package.version}"]
            assert {h["content"] for h in entry["hashes"]} == set(package.digests)
            assert [one.get("expression") or one["license"]["id"] for one in entry["licenses"]] == [
                LICENCES[package.name]
            ]


def requirements_of(name: str) -> set[str]:
    """The packages that an installed one needs here, by its own metadata."""
    needed = map(Requirement, distribution(name).requires or [])
    return {canonicalize_name(r.name) for r in needed if r.marker is None or r.marker.evaluate({"extra": ""})}


def test_the_bill_names_all_that_the_installed_packages_say_they_need(bill):
    there = {component["name"]: component["bom-ref"] for component in bill["components"]}
    needs = {entry["ref"]: set(entry.get("dependsOn", [])) for entry in bill["dependencies"]}
    asked = [*PROJECT["dependencies"], *PROJECT["optional-dependencies"]["relay"]]
    reached, next_ones = set(), {canonicalize_name(Requirement(text).name) for text in asked}
    assert {there[name] for name in next_ones} <= needs[bill["metadata"]["component"]["bom-ref"]]
    while next_ones - reached:
        name = min(next_ones - reached)
        reached.add(name)
        assert {there[needed] for needed in requirements_of(name)} <= needs[there[name]], name
        next_ones |= requirements_of(name)
    assert len(reached) > len(asked)


def test_the_bill_names_the_npm_packages_that_are_built_in(bill):
    there = {purl: entry for purl, entry in listed(bill).items() if purl.startswith("pkg:npm/")}
    script = {"socket.io-client", "socket.io-parser", "engine.io-client", "engine.io-parser"}
    expected = {*script, "@socket.io/component-emitter", *NPM_LOCK[""]["dependencies"]}
    assert {f"{e['group']}/{e['name']}" if "group" in e else e["name"] for e in there.values()} == expected
    for name in expected:
        entry = NPM_LOCK[f"node_modules/{name}"]
        said = there[f"pkg:npm/{name.replace('@', '%40')}@{entry['version']}"]
        assert said["licenses"] == [{"license": {"id": entry["license"]}}]
        assert said["hashes"][0]["content"] == base64.b64decode(entry["integrity"].split("-")[1]).hex()


def test_the_wheel_and_its_bill_are_the_same_each_time(wheel, tmp_path):
    with built_wheel(tmp_path) as again:
        assert Path(again.filename).read_bytes() == Path(wheel.filename).read_bytes()


def test_the_wheel_carries_the_licences_of_all_that_is_in_it(wheel):
    metadata = message_from_bytes(only(wheel, r"dist-info/METADATA$"))
    assert metadata["License-Expression"] == "MIT AND OFL-1.1"
    texts = {
        name: only(wheel, rf"dist-info/licenses/{re.escape(name)}$").decode()
        for name in metadata.get_all("License-File")
    }
    assert texts["LICENSE"] == (ROOT / "LICENSE").read_text("utf-8")
    script = texts["web/built/socket.io.LICENSE.txt"]
    assert script.count("Permission is hereby granted, free of charge") == 5
    for role in ("caption", "console"):
        assert "SIL OPEN FONT LICENSE Version 1.1" in texts[f"web/built/{role}.LICENSE.txt"]


def test_every_package_that_runs_has_a_licence_that_lets_exhibit_be_passed_on():
    assert RUNS.keys() - LICENCES.keys() == {"cffi", "pycparser"}, "which are for Windows"
    assert LICENCES.keys() - RUNS.keys() == set()
    assert {
        part for said in LICENCES.values() for part in said.split(" AND ")
    } - LETS_US_BE_PASSED_ON == set()


HERE = [name for name in sorted(LICENCES) if (m := RUNS[name].marker) is None or Marker(m).evaluate()]
"""Some are for other versions of Python."""


@pytest.mark.parametrize("name", HERE)
def test_the_licence_is_the_one_that_the_package_states(name):
    metadata = distribution(name).metadata
    classifiers = [c.rpartition(" :: ")[2] for c in metadata.get_all("Classifier") or [] if "License ::" in c]
    formerly = (metadata.get("License") or " ".join(classifiers)).removesuffix(" License")
    assert LICENCES[name] == (metadata.get("License-Expression") or FORMERLY_SAID[formerly])


def test_the_page_on_this_names_each_package_and_its_licence():
    page = (ROOT / "docs/supply-chain.md").read_text("utf-8")
    assert [name for name, licence in LICENCES.items() if f"| {name} | {licence} |" not in page] == []


def test_a_package_whose_licence_nobody_wrote_down_stops_the_build(monkeypatch, tmp_path):
    shutil.copytree(ROOT / "supply", tmp_path, dirs_exist_ok=True)
    kept = re.sub(r"(?m)^segno = .*\n", "", (ROOT / "supply/licences.toml").read_text("utf-8"))
    (tmp_path / "licences.toml").write_text(kept, encoding="utf-8")
    monkeypatch.setattr("supply.bill.HERE", tmp_path)
    with pytest.raises(Incomplete, match="under which licence segno is"):
        bill_of_materials("exhibit", "1", "MIT", NPM_LOCK, [])


def test_a_lock_that_names_no_single_version_stops_the_build():
    with pytest.raises(Incomplete, match="names no single version: segno>=1"):
        list(locked_in("segno>=1 \\\n    --hash=sha256:00\n"))


@pytest.mark.parametrize(
    ("marker", "installed"),
    [(None, True), ("python_full_version < '3.12'", True), ("sys_platform == 'win32'", False)],
)
def test_a_package_for_another_kind_of_computer_is_no_part(marker, installed):
    assert Locked("segno", "1", marker, (), ()).is_for_linux() is installed


def test_a_script_that_is_made_of_other_packages_than_we_list_stops_the_build(tmp_path):
    sys.path.insert(0, str(ROOT))
    try:
        import hatch_build
    finally:
        sys.path.remove(str(ROOT))
    dist = tmp_path / "socket.io-client/dist"
    dist.mkdir(parents=True)
    (tmp_path / "built").mkdir()
    (dist / "socket.io.min.js").write_text("", encoding="utf-8")
    sources = {"sources": ["../build/esm/index.js", "../../ws/index.js"]}
    (dist / "socket.io.min.js.map").write_text(json.dumps(sources), encoding="utf-8")
    with pytest.raises(hatch_build.NotAsListed, match=r"^socket\.io-client, ws$"):
        hatch_build.gather(tmp_path, tmp_path / "built")
