"""Writes a museum's SVG anew from the elements and attributes that we know, so that it can only be looked at.

Nothing in it can run, load, move or lead anywhere, and nothing but what is seen is left: no comments, titles,
authors or data of a drawing program. Its identifiers are replaced, so that none is taken for one of the
page's; only groups with an id "opening-KIND" keep theirs, because the page fills them.
"""

from __future__ import annotations

import hashlib
import re
from typing import Final
from xml.parsers import expat
from xml.sax.saxutils import escape, quoteattr

import msgspec

from exhibit.folder.gallery import svg_rules as rules
from exhibit.folder.reading.mistakes import Mistake, any_of, decoded
from exhibit.folder.reading.parts import OPENINGS
from exhibit.folder.reading.values import intended_name

LONGEST_BYTES: Final = 60_000
"""Of the SVG as it is written anew."""
LONGEST_FILE_BYTES: Final = 1_000_000
"""Of the file as it came, with all that its drawing program keeps in it."""
MOST_ELEMENTS: Final = 2000
DEEPEST: Final = 24
LARGEST_BOX: Final = 100_000
OPENING: Final = "opening-"
_SEPARATOR: Final = " "
_PLACES: Final = ("x", "y", "width", "height")
"""Where the whole picture stands and how large it is, which the page decides."""
_NUMBER: Final = re.compile(r"[+-]?(?:[0-9]{1,9}(?:\.[0-9]{0,9})?|\.[0-9]{1,9})(?:[eE][+-]?[0-9]{1,2})?")


class CleanSvg(msgspec.Struct, frozen=True):
    """An SVG that can only be looked at."""

    text: str
    width: float
    height: float
    """Those of its viewBox."""
    openings: tuple[str, ...]
    """The kinds of opening of which it has a group."""


class _Refused(Exception):
    def __init__(self, line: int, what: str, write_instead: str) -> None:
        super().__init__(what)
        self.line, self.what, self.write_instead = line, what, write_instead


def clean_svg(file: str, content: bytes) -> CleanSvg | Mistake:
    """Return the SVG, written anew, or the first thing in it for which it is refused."""
    if len(content) > LONGEST_FILE_BYTES:
        return Mistake(file, 1, "the picture is larger than a million bytes", "a simpler picture")
    text = decoded(file, content)
    if isinstance(text, Mistake):
        return text
    cleaning = _Cleaning(hashlib.sha256(content).hexdigest()[:8])
    try:
        return cleaning.clean(text)
    except _Refused as refused:
        return Mistake(file, refused.line, refused.what, refused.write_instead)
    except expat.ExpatError as fault:
        why = expat.errors.messages[fault.code]
        return Mistake(file, fault.lineno, f"this is not SVG: {why}", "the picture, saved again as SVG")


class _Cleaning:
    def __init__(self, prefix: str) -> None:
        self._prefix = prefix
        self._out: list[str] = []
        self._kept: list[str] = []
        """The elements around the place that is being read."""
        self._left_out = 0
        """How deep that place is inside something that is left out; 0 outside."""
        self._clips = False
        """Whether that place is a clipping path or in one."""
        self._elements = 0
        self._box: tuple[float, float] | None = None
        self._openings: list[str] = []
        self._ids: dict[str, str] = {}
        """The new name of each id that something refers to, or that has been read."""
        self._parser = expat.ParserCreate("utf-8", _SEPARATOR)
        self._parser.StartDoctypeDeclHandler = self._doctype
        self._parser.EntityDeclHandler = self._doctype
        self._parser.StartElementHandler = self._start
        self._parser.EndElementHandler = self._end
        self._parser.CharacterDataHandler = self._text

    def clean(self, text: str) -> CleanSvg:
        self._parser.Parse(text.encode(), True)
        assert self._box is not None, "an SVG without an element is no XML, which expat reports"
        cleaned = "".join(self._out)
        if (size := len(cleaned.encode())) > LONGEST_BYTES:
            self._refuse(
                f"the picture has {size:,} bytes of lines and shapes, but at most {LONGEST_BYTES:,} are "
                "kept in a recording",
                "a simpler picture, with fewer points and fewer decimals",
                line=1,
            )
        return CleanSvg(cleaned, *self._box, tuple(self._openings))

    def _refuse(self, what: str, write_instead: str, *, line: int = 0) -> None:
        raise _Refused(line or self._parser.CurrentLineNumber, what, write_instead)

    def _doctype(self, *_: object) -> None:
        self._refuse(
            "the picture has a document type (DOCTYPE), in which anything could be defined or loaded",
            "the picture without the line that begins with <!DOCTYPE",
        )

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        self._elements += 1
        if self._elements > MOST_ELEMENTS:
            self._refuse(f"the picture has more than {MOST_ELEMENTS} elements", "a simpler picture")
        space, _, name = tag.rpartition(_SEPARATOR)
        if not self._kept and (space, name) != (rules.SVG, "svg"):
            write = f'a file that begins with <svg xmlns="{rules.SVG}" viewBox="0 0 60 175">'
            self._refuse("this is not SVG", write)
        # What no SVG draws is left out with all that is in it: a drawing program's own notes, for example.
        if self._left_out or space != rules.SVG or name in rules.UNSEEN:
            self._left_out += 1
            return
        if len(self._kept) >= DEEPEST:
            self._refuse(f"the picture has groups in groups, more than {DEEPEST} deep", "fewer groups")
        if self._kept and name not in rules.DRAWN:
            usual = f"contains <{name}>, which is not drawn here", "lines, shapes, text and plain colours"
            what, write = rules.REFUSED.get(name, usual)
            self._refuse(f"the picture {what}", write)
        self._clips = "clipPath" in (*self._kept, name)
        kept = self._attributes(name, attributes)
        if not self._kept:
            kept = {"xmlns": rules.SVG, "viewBox": self._view_box(attributes.get("viewBox")), **kept}
        self._kept.append(name)
        self._out.append(f"<{name}{''.join(f' {key}={quoteattr(value)}' for key, value in kept.items())}>")

    def _end(self, _: str) -> None:
        if self._left_out:
            self._left_out -= 1
        else:
            self._out.append(f"</{self._kept.pop()}>")

    def _text(self, text: str) -> None:
        if not self._left_out and self._kept and self._kept[-1] in rules.WITH_TEXT:
            self._out.append(escape(text))

    def _view_box(self, written: str | None) -> str:
        figures = re.split(r"[\s,]+", (written or "").strip())
        if len(figures) != 4 or not all(_NUMBER.fullmatch(figure) for figure in figures):
            how = f'the viewBox "{written}"' if written else "no viewBox, so nobody knows how large it is"
            what = f"the picture has {how}" + (", which is not four numbers" if written else "")
            self._refuse(what, 'viewBox="0 0 60 175" in <svg>: left, top, width and height')
        width, height = float(figures[2]), float(figures[3])
        if not (0 < width <= LARGEST_BOX and 0 < height <= LARGEST_BOX):
            what = f'the viewBox "{written}" is no size that can be drawn'
            self._refuse(what, f"a width and a height above 0 and up to {LARGEST_BOX}")
        self._box = width, height
        return " ".join(figures)

    def _attributes(self, element: str, attributes: dict[str, str]) -> dict[str, str]:
        kept: dict[str, str] = {}
        for tag, value in attributes.items():
            space, _, name = tag.rpartition(_SEPARATOR)
            is_link = name == "href" and space in ("", rules.XLINK)
            if space and not is_link:
                continue
            if name.lower().startswith("on"):
                what = f"the picture would do something at an event ({name})"
                self._refuse(what, f"the picture without {name}")
            elif is_link:
                kept |= self._link(element, value)
            elif name == "id":
                kept |= self._id(element, value)
            elif name == "style":
                kept |= self._style(value)
            elif name in rules.ATTRIBUTES and not (name in _PLACES and element == "svg"):
                kept |= self._value(name, value)
        return kept

    def _style(self, style: str) -> dict[str, str]:
        """Turn the properties into attributes: the page allows no style that stands in an element."""
        kept: dict[str, str] = {}
        for declaration in style.split(";"):
            name, _, value = declaration.partition(":")
            if (name := name.strip().lower()) in rules.STYLES:
                kept |= self._value(name, value.strip().removesuffix("!important").strip())
            elif "url" in declaration.lower() or "\\" in declaration or "@" in declaration:
                self._refuse(
                    f'the picture loads something in a style: "{declaration.strip()}"',
                    "the picture without it",
                )
        return kept

    def _value(self, name: str, value: str) -> dict[str, str]:
        if self._clips and name == "clip-path":
            # A few clipping paths that clip each other's shapes keep a browser busy for hours.
            if "url" in value.lower():
                what = f'the picture clips a shape that only clips others: {name} is "{value[:40]}"'
                self._refuse(what, "one clipping path, of shapes that are not clipped themselves")
            return {}
        if "url" in value.lower():
            if (local := rules.LOCAL.fullmatch(value)) is None:
                what = f'the picture loads something from outside: {name} is "{value}"'
                self._refuse(what, "a colour, or url(#NAME) with the name of a gradient in this picture")
                return {}
            return {name: f"url(#{self._new_name(local[2])}){local[3]}".strip()}
        if rules.PLAIN_VALUE.fullmatch(value):
            return {name: value}
        if name != "font-family":  # another typeface takes the place of one with a name that is left out
            what = f'the picture has a value that no picture needs: {name} is "{value[:40]}"'
            self._refuse(what, "a plain number, colour or word")
        return {}

    def _link(self, element: str, value: str) -> dict[str, str]:
        local = rules.LOCAL_LINK.fullmatch(value.strip())
        if local is None:
            what = f'the picture refers to something outside: "{value[:60]}"'
            self._refuse(what, "the picture without links")
            return {}
        return {"href": f"#{self._new_name(local[1])}"} if element in rules.GRADIENTS else {}

    def _id(self, element: str, name: str) -> dict[str, str]:
        if not name.startswith(OPENING):
            # Only what others refer to needs a name, and what is inside a shape isn't referred to.
            return {"id": self._new_name(name)} if element in (*rules.GRADIENTS, "clipPath") else {}
        kind = name.removeprefix(OPENING)
        if kind not in OPENINGS:
            near = intended_name(kind, OPENINGS)
            write = f'id="{OPENING}{near}"' if near else any_of([f'id="{OPENING}{one}"' for one in OPENINGS])
            self._refuse(f'"{kind}" is not an opening that can be drawn', write)
        if element != "g" or kind in self._openings:
            what = (
                f'id="{name}" stands at a <{element}>' if element != "g" else f'id="{name}" stands here twice'
            )
            self._refuse(what, f'id="{name}" at one group (g), with the shape of the opening in it')
        self._openings.append(kind)
        return {"id": name}

    def _new_name(self, name: str) -> str:
        return self._ids.setdefault(name, f"p{self._prefix}-{len(self._ids) + 1}")
