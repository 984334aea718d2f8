"""A pattern that would match anything, or could take for ever, is refused wherever a folder can have one."""

import pytest

from tests.folder.folder_writing import FILES, mistakes_in

pytestmark = pytest.mark.pure

NASTY = {
    "": "is empty",
    "{...}": "no text of its own",
    "{a: one word}": "no text of its own",
    "{a: one word}{b: one word} X": "two places touch",
    "{...} A {...} B {...}": "are loose",
    "{a: text}.{b: text}.{c: text}": "are loose",
    "X" * 401: "longer than",
    "X " + " ".join(f"{{p{n}: one word}}" for n in range(13)): "more than 12 places",
    "X {a: anything}": "is not a place",
}
WHERE = {
    "a prompt": 'line = "STARTER:"',
    "a line": 'line = "LOG IS EMPTY"',
    "an interruption's start": 'starts = "== NOTICE {...} =="',
    "a display's title": 'title = "TIDEBOOK BOARD {...} TIME {time: one word} UP {...}"',
    "a trouble": 'line = "CANNOT: {...}"',
    "what must never be typed": '"WIPE {...}"',
}


@pytest.mark.parametrize("where", WHERE.values(), ids=WHERE)
@pytest.mark.parametrize("nasty", NASTY, ids=NASTY.values())
def test_a_nasty_pattern_is_refused_with_its_line_and_what_to_do(where, nasty):
    machine = FILES["machine.toml"].decode()
    assert machine.count(where) == 1
    key = where.partition("=")[0] + "= " if where.startswith(("line", "starts", "title")) else ""
    changed = machine.replace(where, f'{key}"{nasty}"')
    line = changed[: changed.index(f'{key}"{nasty}"')].count("\n") + 1
    (found,) = [m for m in mistakes_in({**FILES, "machine.toml": changed.encode()}) if m.line == line]
    assert NASTY[nasty] in f"{found.what} {found.write_instead}" or not nasty
    assert found.write_instead


@pytest.mark.parametrize("line", ["== NOTICE FROM KEEPER ==", "== NOTICE {...} =="])
def test_a_line_that_is_also_the_first_of_an_interruption_counts_as_both_and_is_no_mistake(line):
    machine = FILES["machine.toml"] + f'\n[lines.noticed]\nline = "{line}"\n'.encode()
    assert mistakes_in({**FILES, "machine.toml": machine}) == []
