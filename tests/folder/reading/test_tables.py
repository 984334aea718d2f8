"""A key with a default may be missing, and what is used in its place is kept; everything else is required."""

import tomllib

from exhibit.folder.reading import toml_lines
from exhibit.folder.reading.tables import Table


def table_of(text, key="line"):
    """Return the table of that name in a file with this text, the file, and its mistakes."""
    mistakes = []
    root = Table("machine.toml", tomllib.loads(text), toml_lines.lines_of(text), mistakes)
    return root.table(key, optional=True), root, mistakes


def read(table):
    """Read a table that requires its speed only."""
    found = (
        table.speed("baud", "2400 baud"),
        table.choice("parity", ("none", "even"), default="none"),
        table.integer("stop_bits", 1, 2, 1, default=2),
        table.boolean("wrap", default=True),
        table.duration("echo_within", "2 s", default="3 s"),
        table.key_press("return", "return", default="return"),
        [text for text, _ in table.texts("joins", '["console"]', default=[])],
        table.text("written", "now", default="later"),
        table.name("drive", "lower", default="upper"),
    )
    table.close()
    return found


def test_a_missing_key_with_a_default_is_read_as_if_the_default_were_written():
    table, root, mistakes = table_of('[line]\nbaud = "300 baud"\n')
    assert read(table) == (300, "none", 2, True, 3_000_000, b"\r", [], "later", "upper")
    root.close()
    assert mistakes == []


def test_each_default_that_is_used_is_kept_and_nothing_that_is_written():
    table, root, _ = table_of('[line]\nbaud = "300 baud"\nparity = "even"\nstop_bits = 1\nwrap = false\n')
    read(table)
    assert root.defaults == {
        ("line", "echo_within"): "3 s",
        ("line", "return"): "return",
        ("line", "joins"): [],
        ("line", "written"): "later",
        ("line", "drive"): "upper",
    }


def test_a_key_without_a_default_is_required_and_an_unknown_one_is_a_mistake():
    table, _, mistakes = table_of('[line]\nparitty = "even"\ncolour = 3\n')
    read(table)
    assert [mistake.what for mistake in mistakes] == [
        'there is no key "paritty" in [line]; did you mean "parity"?',
        'there is no key "colour" in [line]',
        "[line] lacks baud",
    ]
    assert mistakes[0].write_instead == 'parity = "even"'


def test_a_missing_table_whose_keys_all_have_defaults_is_no_mistake():
    table, root, mistakes = table_of("", "keys")
    assert table.texts("at", "[]", default=["ready"]) == [("ready", ("at", 0))]
    table.close(), root.close()
    assert mistakes == []
    assert root.defaults == {("keys",): {}, ("keys", "at"): ["ready"]}


def test_a_table_without_a_default_is_required():
    _, root, mistakes = table_of("", "keys")
    root.table("never"), root.close()
    assert [mistake.what for mistake in mistakes] == ["machine.toml lacks never"]


def test_a_key_with_a_mistake_or_misspelt_is_not_compared_with_others():
    table, _, _ = table_of('[line]\nbaud = "300 baud"\nparitty = "even"\nstop_bits = 3\n')
    table.choice("parity", ("none", "even"), default="none")
    table.integer("stop_bits", 1, 2, 1)
    assert not table.is_sure("parity")
    assert not table.is_sure("stop_bits")
    assert not table.is_sure("baud", "parity")
    assert table.is_sure("baud", "wrap")
