"""Builds plots, loads and chapters with their words in each language, for a recording's first fact."""

from __future__ import annotations

from exhibit.facts.fact import Words
from exhibit.facts.visitor_words import Chapter, Load, Plot, PlotAxis, PlotLines
from exhibit.folder.reading.languages import LanguageDraft, in_each, readable
from exhibit.folder.reading.visitors.chapters import CHAPTERS, TOLD, ChapterDraft
from exhibit.folder.reading.visitors.plots import LOADS, PLOTS, LoadDraft, PlotDraft


def plots_in(drafts: dict[str, PlotDraft], languages: list[LanguageDraft]) -> dict[str, Plot]:
    """Return the plots of these drafts, by name."""
    return {name: _plot(f"{PLOTS}.{name}", draft, languages) for name, draft in drafts.items()}


def loads_in(drafts: dict[str, LoadDraft], languages: list[LanguageDraft]) -> dict[str, Load]:
    """Return the loads of these drafts, by name."""
    return {
        name: Load(
            part=draft.part,
            from_part=draft.from_part,
            words=in_each(languages, LOADS, name),
            begins=draft.begins,
            mark=draft.mark,
            ends=draft.ends,
        )
        for name, draft in drafts.items()
    }


def chapters_in(script: str, drafts: list[ChapterDraft], languages: list[LanguageDraft]) -> list[Chapter]:
    """Return the chapters of a script, in order. One that isn't told in the past is told as it is."""
    return [
        Chapter(
            name=draft.name,
            words=_or_name(in_each(languages, f"{CHAPTERS}.{script}", draft.name), draft.name),
            told=_told(script, draft.name, languages),
            picture=draft.picture,
            from_step=draft.from_step,
        )
        for draft in drafts
    ]


def _plot(section: str, draft: PlotDraft, languages: list[LanguageDraft]) -> Plot:
    def axis(key: str, covers: tuple[float, float, float]) -> PlotAxis:
        low, high, every = covers
        return PlotAxis(from_=low, to=high, every=every, words=in_each(languages, section, key))

    return Plot(
        title=in_each(languages, section, "title"),
        across=axis("across", draft.across),
        up=axis("up", draft.up),
        drawn_as=draft.drawn_as,
        part=draft.part,
        called=draft.called,
        marks={name: in_each(languages, section, name) for name, _ in draft.marks},
        job_words=in_each(languages, section, "job"),
        read=PlotLines(
            begins=draft.begins,
            job=draft.job,
            ended=[name for name, _ in draft.ended],
            stopped=[name for name, _ in draft.stopped],
            worked=draft.worked,
            across=draft.points_across,
            up=draft.points_up,
            across_is=draft.across_is,
            mark_across=draft.marks_across if draft.marks else "",
            mark_up=draft.marks_up if draft.marks else "",
        ),
    )


def _told(script: str, name: str, languages: list[LanguageDraft]) -> Words:
    words = in_each(languages, f"{CHAPTERS}.{script}", name)
    told = in_each(languages, f"{TOLD}.{script}", name)
    return _or_name({tag: told[tag] or words[tag] for tag in told}, name)


def _or_name(words: Words, name: str) -> Words:
    return {tag: text or readable(name) for tag, text in words.items()}
