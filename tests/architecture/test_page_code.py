"""The pages' JavaScript names nothing that isn't there, and nothing for nothing (ESLint's own rules)."""

import re
import shutil
import subprocess
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
WEB = ROOT / "web"
PAGES = ("visitor", "desk", "records", "shared", "words", "drawing", "charts")
MAY_NAME = {
    ("visitor", "."),
    ("visitor", "../shared"),
    ("visitor", "../drawing"),
    ("visitor", "../charts"),
    *(("desk", where) for where in (".", "../shared", "../drawing", "../charts")),
    *(("records", where) for where in (".", "../shared", "../built")),
    *((folder, where) for folder in ("drawing", "charts") for where in (".", "../shared")),
    ("shared", "."),
    ("shared", "../words"),
}
"""A page may use what pages share and what draws; those know no page."""
LINT = ROOT / "tests/node/node_modules/eslint/bin/eslint.js"
RULES = ROOT / "tests/node/eslint.config.mjs"


def complaints(node: str, folder: Path) -> str:
    scripts = [
        f"{script.relative_to(folder)}"
        for script in sorted(folder.glob("*/*.js"))
        if script.parent.name in PAGES
    ]
    assert scripts
    ran = subprocess.run(
        [node, f"{LINT}", "--config", f"{RULES}", *scripts],
        cwd=folder,
        capture_output=True,
        text=True,
        timeout=100,
    )
    assert not ran.stderr, ran.stderr
    return ran.stdout


def test_every_name_in_the_pages_code_is_one_that_is_there(needs):
    assert complaints(needs.node(), WEB) == ""


def test_a_name_that_is_nowhere_and_one_that_nothing_uses_are_found(needs, tmp_path):
    for folder in PAGES:
        shutil.copytree(WEB / folder, tmp_path / folder)
    story = tmp_path / "visitor/story.js"
    story.write_text(story.read_text("utf-8") + "\nexport const a = nowhere();\nconst forNothing = 1;\n")
    found = complaints(needs.node(), tmp_path)
    assert "'nowhere' is not defined" in found
    assert "'forNothing' is assigned a value but never used" in found


def test_what_pages_share_knows_none_of_them():
    folders = {path.name for path in WEB.iterdir() if path.is_dir() and any(path.glob("*.js"))}
    assert folders - {"built"} == set(PAGES)
    named = {
        (script.parent.name, source.rpartition("/")[0])
        for script in WEB.glob("*/*.js")
        if script.parent.name in PAGES
        for source in re.findall(r"""^import .* from "(.*)";""", script.read_text("utf-8"), re.MULTILINE)
    }
    assert named - MAY_NAME == set()
    assert {("visitor", "../shared"), ("visitor", "../drawing"), ("visitor", "../charts")} <= named


def test_every_function_and_class_that_a_module_gives_is_used():
    scripts = [
        script.read_text("utf-8") for folder in PAGES for script in sorted((WEB / folder).glob("*.js"))
    ]
    code = "\n".join(re.sub(r"//.*", "", script) for script in scripts)
    given = re.findall(r"^export (?:async )?(?:function|class) (\w+)", code, re.MULTILINE)
    assert given
    assert [name for name in given if len(re.findall(rf"\b{name}\b", code)) == 1] == []
