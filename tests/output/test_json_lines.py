"""JSON that commands print can be read by any program, and shown by any terminal."""

import json

from exhibit.output.json_lines import json_line
from exhibit.output.printable import printable


def test_what_is_read_is_what_was_said_and_all_of_it_is_visible():
    said = {"text": "é\x00\x1b[2J\x7f\x9b\u202e\n\udc9b", "number": 1.5, "none": None}
    line = json_line(said)
    assert json.loads(line) == said
    assert printable(line) == line
    assert line.isascii()
