"""Items of each scene, made by hand as the page gets them, laid over those of a recording being written.

The page's own tests of its compositions need every scene at will; that the items follow from facts is
tested where they are made (tests/decisions/page).
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from exhibit.facts import kinds
from tests.pages import pictures, web_processes

LANGUAGES = {"en": "English", "de": "Deutsch", "he": "עברית"}
LONGEST = 76
"""The most characters that a caption may have."""

_LIVE = """
import json
from pathlib import Path
from exhibit.decisions.page.views import View
from exhibit.web.phone import Phone
from exhibit.web.website import serve_live
laid_over = Path({items!r})
batch_of = View.batch
def batch(self, after, console=True):
    made = batch_of(self, after, console)
    over = json.loads(laid_over.read_text("utf-8"))
    recording = over.pop("recording")
    items = made.setdefault("items", {{}})
    if "recording" in items:
        items["recording"] = {{**items["recording"], **recording}}
    items.update(over)
    return made
View.batch = batch
Phone.address = lambda self: "http://192.168.1.20:8000/"
serve_live(Path({where!r}), port={port}, turn_after_s=3600,
           ready=lambda _: print("http://127.0.0.1:{port}/", flush=True))
"""


def wall(time: str) -> str:
    """A time of the made day."""
    return f"2026-11-25T{time}:00.000+00:00"


def caption(english: str, german: str, part: str = "", hebrew: str = "") -> dict[str, Any]:
    """A caption as an item."""
    return {
        "name": "made",
        "kind": "seen",
        "words": {"en": english, "de": german, **({"he": hebrew} if hebrew else {})},
        "part": part,
        "because": [{"seq": 3, "how": "printed", "what": "DESK TIDES:", "at": wall("10:28")}],
        "source": {},
        "at": wall("10:29"),
        "seq": 70,
    }


CHAPTERS = [
    ("sign-on", "console", "10:24"),
    ("disc", "part:lower-drive", "10:25"),
    ("tides", "plot:tide", "10:28"),
    ("log", "console", "10:29"),
]
CHAPTER_WORDS = {
    "sign-on": {"en": "it signs on", "de": "sie meldet sich an", "he": "היא נכנסת"},
    "disc": {"en": "it tries a disc", "de": "sie prüft eine Platte", "he": "היא בודקת דיסק"},
    "tides": {
        "en": "it works out the tides",
        "de": "sie rechnet die Gezeiten aus",
        "he": "היא מחשבת את הגאות",
    },
    "log": {"en": "it looks inside itself", "de": "sie sieht in sich hinein", "he": "היא בודקת את עצמה"},
}
CHAPTER_TOLD = {
    "sign-on": {"en": "We signed on.", "de": "Wir meldeten uns an.", "he": "נכנסנו."},
    "disc": {"en": "It tried a disc.", "de": "Sie prüfte eine Platte.", "he": "היא בדקה דיסק."},
    "tides": {"en": "The tides were done.", "de": "Die Gezeiten waren fertig.", "he": "הגאות חושבה."},
    "log": {"en": "No fault was noted.", "de": "Kein Fehler war vermerkt.", "he": "לא נרשמה תקלה."},
}
RECORDING: dict[str, Any] = {
    "plots": {
        "tide": {
            "title": {
                "en": "The sea at Sallowmouth tomorrow",
                "de": "Das Meer in Sallowmouth morgen",
                "he": "הים בסאלומאות׳ מחר",
            },
            "across": {
                "from": 0,
                "to": 24,
                "every": 3,
                "words": {"en": "hours", "de": "Stunden", "he": "שעות"},
            },
            "up": {"from": 0, "to": 6, "every": 1, "words": {"en": "metres", "de": "Meter", "he": "מטרים"}},
            "drawn_as": "water",
            "part": "processor",
            "called": "TIDES",
            "marks": {
                "high": {"en": "high water", "de": "Hochwasser", "he": "גאות"},
                "low": {"en": "low water", "de": "Niedrigwasser", "he": "שפל"},
            },
            "job_words": {"en": "tide tables", "de": "Gezeitentafeln", "he": "לוחות גאות"},
        }
    },
    "chapters": {
        "round": [
            {
                "name": name,
                "words": CHAPTER_WORDS[name],
                "told": CHAPTER_TOLD[name],
                "picture": picture,
            }
            for name, picture, _ in CHAPTERS
        ]
    },
    "hours": {"every_day": {"opens": "10:00", "closes": "16:30"}},
    "round_words": {
        "en": "It works out the tides.",
        "de": "Sie rechnet die Gezeiten aus.",
        "he": "היא מחשבת את הגאות והשפל.",
    },
}
POINTS = [[h, round(2.9 + 2.5 * math.cos((h - 6.5) / 12.4 * 2 * math.pi), 2), 50 + h] for h in range(24)]
MARKS = [
    ("high", 6.45, 5.4, "06:27  5.40"),
    ("low", 12.4, 0.42, "12:24  0.42"),
    ("high", 18.9, 5.39, "18:55  5.39"),
]
PLOT: dict[str, Any] = {
    "job": "3",
    "since": wall("10:24"),
    "until": "",
    "seq": 40,
    "worked": 24,
    "worked_seq": 44,
    "points": POINTS,
    "marks": [
        {"line": line, "x": x, "y": y, "label": label, "seq": 80 + n}
        for n, (line, x, y, label) in enumerate(MARKS)
    ],
    "done": False,
    "at": wall("10:28"),
    "round": 3,
}
PARTS = ("processor", "small-drive", "upper-drive", "lower-drive")
BASE: dict[str, Any] = {
    "recording": RECORDING,
    "line": {"state": "open", "since": wall("09:38"), "why": ""},
    "session": {"state": "running", "since": wall("09:38"), "until": "", "why": ""},
    "trouble": None,
    "day": {
        "date": "2026-11-25",
        "spans": [
            {"kind": "opening", "from": wall("09:38"), "until": wall("10:00"), "outcome": "done"},
            {"kind": "round", "from": wall("10:00"), "until": wall("10:05"), "outcome": "done"},
            {"kind": "round", "from": wall("10:24"), "until": "", "outcome": ""},
        ],
        "woken": wall("09:38"),
        "next": {"what": "rest", "at": wall("10:30")},
    },
    "sums": {"rounds": 14, "plots": {"tide": 14}, "transfers": 61284, "errors": 0},
    "parts": {part: {"state": "runs", "since": wall("09:40"), "seq": 12} for part in PARTS},
    "tested": {"processor": {"seq": 9, "at": wall("09:40")}},
    "standing": None,
    "share": {},
    "transfers": {},
    "jobs": [],
    "plots": {},
    "loading": None,
    "steps": {
        "script": "round",
        "round": 3,
        "at": 3,
        "of": 4,
        "name": "tides",
        "seq": 30,
        "since": wall("10:28"),
    },
    "album": [],
}
BOARD: dict[str, Any] = {
    "standing": {
        "display": "board",
        "since": wall("10:28"),
        "seq": 60,
        "frames": 2,
        "frame_at": wall("10:28"),
        "frame_seq": 61,
    },
    "share": {"processor": {"value": 100, "at": wall("10:28"), "seq": 60}},
    "transfers": {"lower-drive": {"total": 1652, "per_min": 1217, "at": wall("10:28"), "seq": 60}},
    "jobs": [
        {
            "job": job,
            "name": name,
            "exerciser": name.lower(),
            "plot": "",
            "part": part,
            "since": wall("10:25"),
            "until": "",
            "seq": seq,
        }
        for job, name, part, seq in (("1", "SHUTTLE", "lower-drive", 33), ("2", "SUMS", "processor", 34))
    ],
}
ALBUM = [
    {
        "chapter": name,
        "script": "round",
        "at": wall(at),
        "seq": 20,
        "picture": picture,
        "lines": ["DESK TIDES: LOG", "LOG IS EMPTY", "DESK TIDES:"],
        "part": "lower-drive",
        "job": {"job": "1", "name": "SHUTTLE"},
        "plot": {**PLOT, "done": True, "until": wall("10:28")},
    }
    for name, picture, at in CHAPTERS
]
RESTING = {"state": "resting", "since": wall("10:30"), "until": wall("10:36"), "why": ""}
ASLEEP = {"state": "resting", "since": wall("16:52"), "until": "", "why": ""}
FAILED = {"state": "failed", "since": wall("14:12"), "until": "", "why": "the disc was waited for"}
TROUBLE = {
    "name": "disc",
    "line": "TIDES: CANNOT READ UPPER",
    "words": {
        "en": "The upper disc could not be read.",
        "de": "Die obere Platte ließ sich nicht lesen.",
        "he": "לא ניתן היה לקרוא את הדיסק העליון.",
    },
    "do": {
        "en": "Look at the upper drive, then call.",
        "de": "Sehen Sie nach dem oberen Laufwerk, dann rufen Sie an.",
        "he": "בדקו את הכונן העליון, ואז התקשרו.",
    },
    "at": wall("14:12"),
}


def _scene(name: str, **items: Any) -> dict[str, Any]:
    scene = {"name": name, "since": wall("10:28"), "seq": 70, "plot": "tide", "display": "board"}
    return {**BASE, "scene": scene, **items}


SCENES: dict[str, dict[str, Any]] = {
    "not started": _scene(
        "not started",
        caption=None,
        seen_caption=None,
        parts={},
        steps=None,
        tested={},
        line={"state": "not opened", "since": wall("09:00"), "why": ""},
    ),
    "waking": _scene(
        "waking",
        steps=None,
        parts={part: BASE["parts"][part] for part in PARTS[:2]},
        caption=caption(
            "It is waking up. Its memory is in order and the small disc is up to speed.",
            "Sie wacht auf. Ihr Speicher ist in Ordnung, die kleine Platte läuft.",
            "small-drive",
            "היא מתעוררת. הזיכרון שלה תקין, והדיסק הקטן הגיע למהירותו.",
        ),
    ),
    "working": _scene(
        "working",
        **BOARD,
        caption=caption(
            "Two jobs at once: one does sums, one writes and reads the lower disc.",
            "Zwei Aufträge zugleich: Einer rechnet, einer benutzt die untere Platte.",
            "lower-drive",
            "שתי עבודות בבת אחת: אחת מחשבת, ואחת כותבת וקוראת בדיסק התחתון.",
        ),
    ),
    "result": _scene(
        "result",
        plots={"tide": PLOT},
        caption=caption(
            "Tomorrow at 06:27 the sea is highest: 5.40 metres on the harbour’s scale.",
            "Morgen um 06:27 steht das Meer am höchsten: 5,40 Meter am Hafenpegel.",
            hebrew="מחר ב־06:27 הים בשיאו: 5.40 מטר לפי סולם הנמל.",
        ),
    ),
    "looking inside": _scene(
        "looking inside",
        **BOARD,
        caption=caption(
            "The machine lists its own jobs and discs, anew every few seconds.",
            "Die Maschine zeigt ihre Aufträge und Platten, alle paar Sekunden neu.",
            hebrew="המכונה מונה את העבודות והדיסקים שלה, מחדש כל כמה שניות.",
        ),
    ),
    "resting": _scene(
        "resting",
        steps=None,
        caption=None,
        seen_caption=None,
        session=RESTING,
        album=ALBUM,
        plots={"tide": ALBUM[0]["plot"]},
    ),
    "asleep": _scene(
        "asleep",
        steps=None,
        caption=None,
        seen_caption=None,
        session=ASLEEP,
        tested={},
        parts={part: {"state": "stands", "since": wall("16:50"), "seq": 90} for part in PARTS},
    ),
    "trouble": _scene(
        "trouble",
        session=FAILED,
        trouble=TROUBLE,
        caption=caption(
            "A disc could not be read. We type nothing until a person has looked.",
            "Eine Platte war nicht lesbar. Wir tippen nichts, bis jemand nachsieht.",
            "upper-drive",
            "לא ניתן היה לקרוא דיסק. לא נקליד דבר עד שאדם יבדוק.",
        ),
    ),
}


class Laid:
    """A web process whose items can be changed while it runs."""

    def __init__(self, address: str, items: Path) -> None:
        self.address = address
        self._items = items

    def lay(self, scene: str, **more: Any) -> None:
        """From now on, the page gets the items of this scene, and `more`."""
        over = {**SCENES[scene], **more}
        over["recording"] = {**RECORDING, **more.get("recording", {})}
        new = self._items.with_suffix(".new")
        new.write_text(json.dumps(over), "utf-8")
        new.replace(self._items)


@contextmanager
def scenes(
    folder: Path,
    first: str,
    languages: dict[str, str] | None = None,
    facts: list[kinds.AnyFact] | None = None,
    **more: Any,
) -> Iterator[Laid]:
    """A recording that is being written, with the items of scene `first` laid over its own.

    `facts` are the last of the recording: the badge and its notice follow from them.
    """
    with pictures.held(folder / "recordings", facts or [], languages=languages or LANGUAGES) as where:
        port = web_processes.free_port()
        items = folder / "items.json"
        laid = Laid(f"http://127.0.0.1:{port}/", items)
        laid.lay(first, **more)
        web = web_processes.WebProcess(_LIVE.format(items=str(items), where=str(where), port=port))
        try:
            yield laid
        finally:
            web.end()
