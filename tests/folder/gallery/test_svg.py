"""A museum's SVG can only be looked at once it was read: nothing in it runs, loads, moves or leads on."""

import re
import xml.etree.ElementTree as ElementTree

import pytest

from exhibit.folder.gallery.svg import LONGEST_BYTES, MOST_ELEMENTS, clean_svg
from exhibit.folder.gallery.svg_rules import SVG
from exhibit.folder.reading.mistakes import Mistake

pytestmark = pytest.mark.pure

HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" viewBox="0 0 60 175">'
)


def svg_with(inside: str, head: str = HEAD) -> bytes:
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{head}\n{inside}\n</svg>'.encode()


def cleaned(inside: str, head: str = HEAD) -> str:
    found = clean_svg("pictures/front.svg", svg_with(inside, head))
    assert not isinstance(found, Mistake), found.text()
    return found.text


def refused(content: bytes) -> Mistake:
    found = clean_svg("pictures/front.svg", content)
    assert isinstance(found, Mistake), found.text
    return found


@pytest.mark.parametrize(
    ("inside", "said"),
    [
        ("<script>alert(1)</script>", "contains a script"),
        ('<script href="https://example.org/x.js"/>', "contains a script"),
        ("<g><svg onload='alert(1)' viewBox='0 0 1 1'/></g>", "second svg"),
        ('<g onclick="alert(1)"/>', "at an event (onclick)"),
        ('<g ONLOAD="alert(1)"/>', "at an event (ONLOAD)"),
        ('<a href="javascript:alert(1)"><path d="M0 0"/></a>', "contains a link"),
        ('<a xlink:href="javascript:alert(1)"><path d="M0 0"/></a>', "contains a link"),
        ('<g href="javascript:alert(1)"/>', "refers to something outside"),
        ('<image href="https://example.org/a.png"/>', "contains another picture"),
        ('<image xlink:href="data:image/png;base64,AAAA"/>', "contains another picture"),
        ('<use href="#front"/>', "copy of another element"),
        ('<use xlink:href="https://example.org/a.svg#x"/>', "copy of another element"),
        ("<foreignObject><p xmlns='http://www.w3.org/1999/xhtml'>x</p></foreignObject>", "another document"),
        ("<style>@import url(https://example.org/a.css);</style>", "style sheet"),
        ('<animate attributeName="x" to="9" dur="1s"/>', "contains an animation"),
        ('<set attributeName="href" to="javascript:alert(1)"/>', "contains an animation"),
        ("<filter id='f'/>", "contains <filter>"),
        ("<pattern id='f'/>", "contains <pattern>"),
        ('<path fill="url(https://example.org/a.svg#x)"/>', "from outside"),
        ('<path fill="URL( //example.org/a )"/>', "from outside"),
        ('<path style="fill:url(data:image/svg+xml,x)"/>', "from outside"),
        ('<path style="background:url(https://example.org/a.png)"/>', "loads something in a style"),
        ('<path style="background:u\\72l(https://example.org/a.png)"/>', "loads something in a style"),
        ('<path fill="u\\72l(//example.org)"/>', "no picture needs"),
        ('<path d="M0 0&#x5c;"/>', "no picture needs"),
        (
            '<linearGradient id="a" href="https://example.org/a.svg#b"/>',
            "refers to something outside",
        ),
        ('<path id="opening-core"/>', "stands at a <path>"),
        ('<g id="opening-core"/><g id="opening-core"/>', "stands here twice"),
        ('<g id="opening-cores"/>', "not an opening"),
    ],
)
def test_what_could_run_load_move_or_lead_anywhere_is_refused_in_a_sentence(inside, said):
    mistake = refused(svg_with(inside))
    assert said in mistake.what
    assert (mistake.file, mistake.line) == ("pictures/front.svg", 3)
    assert mistake.write_instead


BOMB = "".join(
    f'<!ENTITY l{n} "&l{n - 1};&l{n - 1};&l{n - 1};&l{n - 1};&l{n - 1};&l{n - 1};&l{n - 1};&l{n - 1};">'
    for n in range(1, 12)
)


@pytest.mark.parametrize(
    "doctype",
    [
        f'<!DOCTYPE svg [<!ENTITY l0 "lol">{BOMB}]>',
        '<!DOCTYPE svg [<!ENTITY file SYSTEM "file:///etc/passwd">]>',
        '<!DOCTYPE svg SYSTEM "https://example.org/a.dtd">',
        '<!DOCTYPE svg [<!ATTLIST g onclick CDATA "alert(1)">]>',
    ],
)
def test_a_document_type_is_refused_before_anything_in_it_is_read(doctype):
    content = f"{doctype}\n{HEAD}<text>&l11;&file;</text></svg>".encode()
    assert "DOCTYPE" in refused(content).what


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "this is not SVG: no element found"),
        (b"hello", "this is not SVG"),
        (b"<html><body/></html>", "this is not SVG"),
        (b'<svg viewBox="0 0 1 1"/>', "this is not SVG"),  # without its namespace nothing is drawn
        (svg_with("<g>"), "mismatched tag"),
        (svg_with("<text>&nbsp;</text>"), "undefined entity"),
        (svg_with("<text>\xff</text>").replace("\xff".encode(), b"\xff"), "not UTF-8"),
        (svg_with("", HEAD.replace(' viewBox="0 0 60 175"', "")), "no viewBox"),
        (svg_with("", HEAD.replace("0 0 60 175", "0 0 60")), "not four numbers"),
        (svg_with("", HEAD.replace("0 0 60 175", "0 0 0 175")), "no size"),
        (svg_with("", HEAD.replace("0 0 60 175", "0 0 1e9 175")), "no size"),
        (svg_with("<g>" * 30 + "</g>" * 30), "more than 24 deep"),
        (svg_with("<path/>" * (MOST_ELEMENTS + 1)), f"more than {MOST_ELEMENTS} elements"),
        (svg_with(f'<path d="{"M0 0" * LONGEST_BYTES}"/>'), "bytes of lines and shapes"),
        (svg_with("<!-- x -->" * 200_000), "larger than a million bytes"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_is_no_svg_or_too_much_of_one_is_refused_in_a_sentence(content, said):
    assert said in refused(content).what


def test_nothing_is_left_of_what_a_drawing_program_notes_about_itself_and_its_author():
    head = HEAD.replace(">", ' xmlns:p="urn:program" p:version="3" width="60mm" height="175mm" id="page">')
    text = cleaned(
        "<!-- made by somebody --><?xml-stylesheet href='a.css'?>"
        "<title>A secret title</title><metadata><p:author>Somebody</p:author></metadata>"
        "<p:view p:zoom='2'><p:grid/></p:view>"
        '<g p:label="layer" class="a" data-x="b"><path p:nodes="cc" id="path12" d="M0 0L9 9"/></g>',
        head,
    )
    path = '<path d="M0 0L9 9"></path>'
    assert re.sub(r"\n", "", text) == f'<svg xmlns="{SVG}" viewBox="0 0 60 175"><g>{path}</g></svg>'


def test_styles_become_attributes_because_the_page_allows_no_style_in_an_element():
    text = cleaned('<path style="fill: #123456; stroke-width:2px !important;-program-x:none;font:a b"/>')
    assert '<path fill="#123456" stroke-width="2px">' in text


def test_names_inside_the_picture_are_new_and_still_lead_to_the_same_gradient():
    text = cleaned(
        '<defs><linearGradient id="badge"><stop offset="0" stop-color="red"/></linearGradient>'
        '<radialGradient id="b" xlink:href="#badge"/></defs>'
        '<path id="caption" fill="url(#badge)"/><path clip-path="url(&quot;#c&quot;)"/><clipPath id="c"/>'
    )
    assert "caption" not in text
    assert "badge" not in text
    gradient = re.search(r'<linearGradient id="([^"]+)"', text)
    clip = re.search(r'<clipPath id="([^"]+)"', text)
    assert gradient
    assert clip
    assert f'fill="url(#{gradient[1]})"' in text
    assert f'href="#{gradient[1]}"' in text
    assert f'clip-path="url(#{clip[1]})"' in text


def test_groups_for_openings_keep_their_names_and_are_told():
    content = svg_with('<g id="opening-core"><rect width="9" height="9"/></g><g id="opening-gauge"/>')
    found = clean_svg("pictures/front.svg", content)
    assert found.openings == ("core", "gauge")
    assert (found.width, found.height) == (60, 175)
    assert '<g id="opening-core">' in found.text


def test_text_is_kept_as_text_and_never_as_markup():
    text = cleaned("<text>A &lt;script&gt; &amp; B<tspan>C</tspan></text><g>no text here</g>")
    assert "<text>A &lt;script&gt; &amp; B<tspan>C</tspan></text><g></g>" in text


def test_what_is_written_anew_is_xml_again_and_stays_the_same_when_it_is_cleaned_again():
    text = cleaned('<g transform="translate(1,2)"><path d="M0 0" font-family="A&#xe4;B"/><text>Ä</text></g>')
    ElementTree.fromstring(text)
    assert clean_svg("pictures/front.svg", text.encode()).text == text


def laugh() -> str:
    """Clipping paths whose every shape is clipped by the next: six of them keep a browser busy for ever."""
    levels = "".join(
        f'<clipPath id="c{level}">'
        + f'<rect width="9" height="9" clip-path="url(#c{level + 1})"/>' * 5
        + "</clipPath>"
        for level in range(6)
    )
    return f'{levels}<path clip-path="url(#c0)" d="M0 0"/>'


@pytest.mark.parametrize(
    "inside",
    [
        laugh(),
        '<clipPath id="a"><rect clip-path="url(#b)"/></clipPath>'
        '<clipPath id="b"><rect clip-path="url(#a)"/></clipPath>',
        '<clipPath id="a"><rect style="clip-path:url(#a)"/></clipPath>',
        '<clipPath id="a" clip-path="url(#b)"><rect/></clipPath>',
        '<clipPath id="a"><g><rect clip-path="url(#b)"/></g></clipPath>',
    ],
    ids=["laugh", "circle", "itself", "the clipping path", "in a group"],
)
def test_what_clips_is_not_clipped_itself(inside):
    assert "clips a shape that only clips others" in refused(svg_with(inside)).what


def test_a_clipping_path_is_not_clipped_as_what_is_around_it_either():
    text = cleaned(
        '<clipPath id="a"><rect/></clipPath><g clip-path="url(#a)">'
        '<clipPath id="b" clip-path="inherit"><rect clip-path="inherit" width="9"/></clipPath></g>'
    )
    assert text.count("clip-path=") == 1
    assert "inherit" not in text
