"""Writes a wheel's bill of materials: what runs with it, what is built in, and under which licences.

The versions and digests are those of the tested set: runtime.txt beside this file for Python's packages, and
web/package-lock.json for npm's. The same files make the same bill, to the byte.
"""

import base64
import re
import tomllib
import uuid
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from cyclonedx.contrib.license.factories import LicenseFactory
from cyclonedx.model import HashAlgorithm, HashType
from cyclonedx.model.bom import Bom
from cyclonedx.model.component import Component, ComponentType
from cyclonedx.output.json import JsonV1Dot6
from packageurl import PackageURL
from packaging.markers import Marker

HERE = Path(__file__).resolve().parent
PINNED = re.compile(r"^([a-z0-9-]+)==([^ ]+)(?: ; (.+?))? \\$")
DIGEST = re.compile(r"^    --hash=sha256:([0-9a-f]{64})")
WANTED_BY = re.compile(r"^    #(?: via|  ) (?:  )?([a-z0-9-]+)(?: \(pyproject\.toml\))?$")
PYTHONS = ("3.11.0", "3.11.9", "3.12.0", "3.13.0", "3.14.0")


class Incomplete(Exception):
    """Something that the bill must say isn't known. The message is a sentence for whoever builds."""


@dataclass(frozen=True, slots=True)
class Locked:
    """A package of a lock: the digests of its files, and the names of the packages that want it."""

    name: str
    version: str
    marker: str | None
    digests: tuple[str, ...]
    wanted_by: tuple[str, ...]

    def is_for_linux(self) -> bool:
        """Whether it is installed on Linux, by one of the versions of Python that exhibit runs on."""
        return self.marker is None or any(Marker(self.marker).evaluate(linux(python)) for python in PYTHONS)


def linux(python: str) -> dict[str, str]:
    """What a marker is asked about, for this version of Python on Linux."""
    return {
        "implementation_name": "cpython",
        "os_name": "posix",
        "platform_python_implementation": "CPython",
        "platform_system": "Linux",
        "python_full_version": python,
        "python_version": python.rpartition(".")[0],
        "sys_platform": "linux",
    }


def locked_in(text: str) -> Iterator[Locked]:
    """Each package of a lock that `sh tests/run --renew` wrote."""
    for block in re.split(r"^(?=[a-z0-9])", text, flags=re.MULTILINE)[1:]:
        first, *rest = block.splitlines()
        if (pinned := PINNED.match(first)) is None:
            raise Incomplete(f"a lock in supply/ has a line that names no single version: {first}")
        digests = tuple(found[1] for line in rest if (found := DIGEST.match(line)))
        wanted_by = tuple(found[1] for line in rest if (found := WANTED_BY.match(line)))
        yield Locked(pinned[1], pinned[2], pinned[3], digests, wanted_by)


def bill_of_materials(
    name: str, version: str, licence: str, npm_lock: Mapping[str, Any], built_in: Iterable[str]
) -> str:
    """The bill as CycloneDX JSON. `built_in` names the npm packages that are in web/built/.

    Raises Incomplete if a package has no licence or no digest.
    """
    bom = Bom(serial_number=uuid.UUID(int=0))
    own = component("pypi", name, version, licence, [])
    bom.metadata.component = own
    bom.metadata.timestamp = None  # type: ignore[assignment]  # it would differ each time
    licences = tomllib.loads((HERE / "licences.toml").read_text("utf-8"))
    wants: dict[str, list[Component]] = {name: []}
    parts: dict[str, Component] = {name: own}
    for package in locked_in((HERE / "runtime.txt").read_text("utf-8")):
        if not package.is_for_linux():
            continue
        if package.name not in licences:
            raise Incomplete(f"supply/licences.toml doesn't say under which licence {package.name} is")
        hashes = [HashType(alg=HashAlgorithm.SHA_256, content=digest) for digest in package.digests]
        part = component("pypi", package.name, package.version, licences[package.name], hashes)
        parts[package.name] = part
        for wanting in package.wanted_by:
            wants.setdefault(wanting, []).append(part)
    built_in = set(built_in)
    for package_name in sorted(built_in):
        entry = npm_lock[f"node_modules/{package_name}"]
        digest = base64.b64decode(entry["integrity"].removeprefix("sha512-")).hex()
        hashes = [HashType(alg=HashAlgorithm.SHA_512, content=digest)]
        parts[f"npm:{package_name}"] = component(
            "npm", package_name, entry["version"], entry["license"], hashes
        )
    for package_name in built_in:
        for wanted in built_in & npm_lock[f"node_modules/{package_name}"].get("dependencies", {}).keys():
            wants.setdefault(f"npm:{package_name}", []).append(parts[f"npm:{wanted}"])
    wants[name] += [parts[f"npm:{asked}"] for asked in npm_lock[""]["dependencies"]]
    for wanting, part in parts.items():
        bom.register_dependency(part, wants.get(wanting))
        if part is not own:
            bom.components.add(part)
    # Numbered by what it says.
    bom.serial_number = uuid.uuid5(uuid.NAMESPACE_URL, JsonV1Dot6(bom).output_as_string())
    return JsonV1Dot6(bom).output_as_string(indent=2) + "\n"


def component(registry: str, name: str, version: str, licence: str, hashes: list[HashType]) -> Component:
    """One package of a registry."""
    group, _, short = name.rpartition("/")
    purl = PackageURL(registry, group or None, short, version)
    return Component(
        type=ComponentType.LIBRARY if hashes else ComponentType.APPLICATION,
        bom_ref=purl.to_string(),
        group=group or None,
        name=short,
        version=version,
        purl=purl,
        licenses=[LicenseFactory().make_from_string(licence)],
        hashes=hashes,
    )
