"""The card for the case, as text and for the printer."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from html.parser import HTMLParser

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.playing import came_at
from tunememory.dates.changing import DateDraft, save_date
from tunememory.errors import NotDoneError
from tunememory.library.adding import Draft, add_tune, set_status
from tunememory.library.sets import save_set
from tunememory.music.abc.notes import parse_notes
from tunememory.music.fingering import INSTRUMENTS
from tunememory.music.key import Key
from tunememory.music.strings import STANDARD, parse_tuning
from tunememory.music.tune import Start, Status, Tune
from tunememory.music.ways.material import WIDTH
from tunememory.paper import Paper, sheet_html, sheet_text
from tunememory.recall.check import Level
from tunememory.session import Session
from tunememory.teaching.card import NOTES, card_for, card_html, card_text, make_card
from tunememory.text import clean_text

CROSS_A = parse_tuning("AEAE")


def a_tune(
    title: str, key: str | None = "D", text: str = "de|fdAF DFAd", **changes: object
) -> Tune:
    own = Key(key) if key else None
    read = parse_notes(text, own, "C|")
    starts = (Start("A", read.notes, read.pickup),) if read.notes else ()
    tune = Tune(title, (title,) if title else (), kind="reel", key=own, metre="C|", starts=starts)
    return replace(tune, **changes)  # type: ignore[arg-type]


def test_a_card_by_tuning_and_key_as_text():
    card = make_card(
        [
            a_tune("The Heron", "G", "D|GABd"),
            a_tune("Grey Wader", "A", "A2ce", tuning=CROSS_A),
            a_tune("The Avocet"),
            a_tune("Only a Name", text=""),
        ],
        STANDARD,
        "For Thursday",
        {"The Avocet": [("The Curlew", 5)]},
    )
    assert (
        card_text(card)
        == """\
For Thursday

GDAE standard
=============

  D
  -
  The Avocet (reel, D)
   A  d  e  │ f  d  A  F  D  F  …
      A3 E0 │ E1 A3 A0 D2 D0 D2
      ! do not mix with The Curlew: they part at note 5
  Only a Name (reel, D)

  G
  -
  The Heron (reel, G)
   A  D  │ G  A  B  d
      D0 │ D3 A0 A1 A3

AEAE cross A
============

  A
  -
  Grey Wader (reel, A)
   A  A  c  e
      A0 A2 E0
"""
    )


def test_the_usual_tuning_comes_first_and_tunes_without_a_key_last():
    card = make_card(
        [a_tune("x", None), a_tune("y", "C"), a_tune("z", "A"), a_tune("w", tuning=STANDARD)],
        CROSS_A,
        "all",
    )
    assert [*card.pages] == ["AEAE cross A", "GDAE standard"]
    assert [*card.pages["AEAE cross A"]] == ["A", "C", "key not known"]


def test_a_twin_that_does_not_part_is_still_warned_of():
    card = make_card([a_tune("y")], STANDARD, "all", {"y": [("x", 0), ("z", 1)]})
    ((entry,),) = card.pages["GDAE standard"].values()
    assert entry.warnings == (
        "do not mix with x",
        "do not mix with z: alike after the first note",
    )


def test_a_start_is_cut_to_its_first_notes_and_fingered_as_a_whole():
    card = make_card([a_tune("x", text="defg abag fedc")], STANDARD, "all", notes=4)
    assert card_text(card).splitlines()[-2:] == [
        "   A  d  e  f  g   …",
        "      A3 E0 E1 EL2",
    ]


def test_long_titles_are_wrapped():
    text = card_text(make_card([a_tune("word " * 40)], STANDARD, "x" * 10), width=40)
    assert all(len(line) <= 40 for line in text.splitlines())


# --- as a page ---


class Reading(HTMLParser):
    """What a browser would show, by tag and class, and what it would load."""

    def __init__(self) -> None:
        super().__init__()
        self.texts: list[tuple[str, str]] = []
        self.loads: list[str] = []
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        named = dict(attrs)
        self.loads += [name for name in named if name in {"src", "href", "srcset", "style"}]
        if tag in {"script", "link", "img", "iframe", "object"}:
            self.loads.append(tag)
        if tag != "meta":
            self.open.append(f"{tag}.{named.get('class') or ''}".rstrip("."))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop().partition(".")[0] == tag

    def handle_data(self, data: str) -> None:
        if data.strip() and self.open:
            self.texts.append((self.open[-1], data.strip()))


def read(page: str) -> Reading:
    reading = Reading()
    reading.feed(page)
    reading.close()
    assert reading.open == []
    return reading


@pytest.mark.parametrize(
    ("paper", "size"),
    [(Paper.A4, "210mm 297mm"), (Paper.A5, "148mm 210mm"), (Paper.A6, "105mm 148mm")],
)
def test_a_page_for_the_printer(paper, size):
    """Sizes of ISO 216."""
    card = make_card([a_tune("The Avocet")], STANDARD, "For Thursday",
                     {"The Avocet": [("The Curlew", 5)]})  # fmt: skip
    page = card_html(card, paper)
    assert f"@page {{ size: {size};" in page
    texts = read(page).texts
    assert ("h1", "For Thursday") in texts
    assert ("h2", "GDAE standard") in texts
    assert ("p.name", "The Avocet") in texts
    assert ("p.warn", "do not mix with The Curlew: they part at note 5") in texts
    assert [text for tag, text in texts if tag == "i"] == [
        "A3",
        "E0",
        "E1",
        "A3",
        "A0",
        "D2",
        "D0",
        "D2",
    ]
    assert [text for tag, text in texts if tag == "span.bar"] == ["f"]


def test_only_a4_has_two_columns():
    card = make_card([a_tune("x")], STANDARD, "all")
    columns = [re.findall(r"columns: (\d)", card_html(card, paper)) for paper in Paper]
    assert columns == [["1"], ["1"], ["2"]]


def test_a_sheet_keeps_its_lines_and_says_nothing_as_markup():
    lines = ("A start", "  letters  d │ e <b>", "  fingers  A3 │ E0")
    page = sheet_html("The [/] & <i>: its scale", ["What is <sung>."], lines)
    texts = read(page).texts
    assert ("h1", "The [/] & <i>: its scale") in texts
    assert ("p", "What is <sung>.") in texts
    assert ("pre", "\n".join(lines)) in texts
    text = sheet_text("One: its scale", ["Why."], lines)
    assert text == "One: its scale\n==============\nWhy.\n\n" + "\n".join(lines) + "\n"


def test_a_line_of_what_a_way_brings_fits_the_page_it_is_printed_on():
    page = sheet_html("Its scale", [], ["x"])
    paper, margin = map(
        float, re.search(r"size: (\d+)mm \d+mm; margin: \d+mm (\d+)mm", page).groups()
    )
    found = re.search(r"pre {[^}]*font: (\d+)pt", page)
    assert found
    size = float(found[1])
    # A letter of DejaVu Sans Mono, the widest face named, is 1233 of 2048 parts of its size.
    assert WIDTH * size * 1233 / 2048 <= (paper - 2 * margin) * 72 / 25.4


def test_nothing_is_smaller_than_twelve_points():
    page = card_html(make_card([a_tune("x")], STANDARD, "all"))
    sizes = [float(size) for size in re.findall(r"(?:font|font-size):[^;]*?([\d.]+)pt", page)]
    assert len(sizes) >= 5
    assert min(sizes) >= 12
    assert not re.search(r"font[^;]*\d(?:px|em|rem|%)", page)


def test_nothing_is_fetched_from_outside():
    page = card_html(make_card([a_tune("x")], STANDARD, "all"))
    assert read(page).loads == []
    assert not re.search(r"url\(|@import|https?:", page)
    assert "default-src 'none'" in page


texts = st.text(max_size=60).map(clean_text)


@given(texts.filter(bool), texts, texts.filter(bool))
def test_any_title_is_shown_as_it_is_and_never_as_markup(title, kind, other):
    tune = a_tune(title, kind=kind)
    card = make_card([tune], STANDARD, other, {tune.uuid: [(other, 3)]})
    shown = read(card_html(card))
    assert shown.loads == []
    told = [text for tag, text in shown.texts if tag == "p.name"]
    assert "".join(told).split() == title.split()
    warned = [text for tag, text in shown.texts if tag == "p.warn"]
    assert (
        other.split() == "".join(warned).removeprefix("do not mix with").rpartition(":")[0].split()
    )


def test_hostile_titles():
    title = '</style><script>alert("1")</script>&amp;<img src=x>'
    page = card_html(make_card([a_tune(title)], STANDARD, title))
    assert "<script" not in page
    assert "<img" not in page
    assert ("p.name", title) in read(page).texts


@given(st.lists(st.tuples(texts, st.sampled_from(["A", "D", "Bb", None]), st.booleans())))
def test_every_tune_stands_on_the_card_once(about):
    tunes = [
        replace(a_tune(title, key), uuid=str(n), tuning=CROSS_A if cross else None)
        for n, (title, key, cross) in enumerate(about)
    ]
    card = make_card(tunes, STANDARD, "all")
    entries = [entry for page in card.pages.values() for some in page.values() for entry in some]
    assert sorted(entry.tune.uuid for entry in entries) == sorted(tune.uuid for tune in tunes)
    shown = read(card_html(card)).texts
    assert sum(tag == "i" for tag, _ in shown) == NOTES * len(tunes)


def test_a_start_of_many_wide_notes_breaks_at_a_bar():
    notes = parse_notes("^c'^d'|" * 8, Key("C"), "2/4").notes
    tune = replace(a_tune("x"), starts=(Start("A", notes * 2, Fraction(0)),), metre="2/4")
    text = card_text(make_card([tune], STANDARD, "all", notes=20), width=40)
    assert all(len(line) <= 40 for line in text.splitlines())


def test_a_card_is_made_for_the_instrument():
    tune = a_tune("x", text="A,DFA dfaf")
    mandolin = make_card([tune], STANDARD, "all", instrument=INSTRUMENTS["mandolin"])
    ((entry,),) = mandolin.pages["GDAE standard"].values()
    assert entry.starts[0].fingers[:3] == ("G2", "D0", "D4")
    flute = make_card([tune], STANDARD, "all", notes=4, instrument=INSTRUMENTS["flute"])
    assert "D0" not in card_text(flute)
    assert "A," in card_text(flute)
    assert "<i>" not in card_html(flute)


# --- of a repertoire ---

Kept = Callable[..., list[str]]


def test_a_card_of_everything_a_date_a_set_a_status_or_a_state(
    session: Session, kept: Kept
) -> None:
    uuids = kept(6)
    set_status(session, uuids[5], Status.LEARNING)
    made = save_set(session, "Low Tide", uuids[:2])
    save_date(session, DateDraft("+3d", "Barn dance", tunes=(uuids[3],), sets=(made.uuid,)))
    came_at(session, Level.KICK_OFF, uuids[4])

    def on(what: str) -> set[str]:
        card = card_for(session, what)
        pages = (entries for page in card.pages.values() for entries in page.values())
        return {entry.tune.title for entries in pages for entry in entries}

    titles = [session.tune(uuid).title for uuid in uuids]
    assert on("") == set(titles)
    assert on("barn dance") == {titles[0], titles[1], titles[3]}
    assert on("dance") == on("barn dance")
    assert on("low tide") == set(titles[:2])
    assert on("learning") == {titles[5]}
    assert on("safe") == {titles[4]}
    assert card_text(card_for(session, "barn dance")).startswith("Barn dance\n")


def test_a_card_warns_of_twins(session: Session) -> None:
    for name, notes in (("Heron", "DFAd fdAF"), ("Egret", "DFAd fdAG")):
        add_tune(session, Draft(titles=(name,), key="D", metre="C|", starts=(("A", notes),)))
    assert "do not mix with Egret: they part at note 8" in card_text(card_for(session))


def test_a_card_of_nothing_says_what_it_could_be(session: Session, kept: Kept) -> None:
    uuids = kept(3)
    for name in ("Low Tide", "Low Water"):
        save_set(session, name, uuids[:2])
    with pytest.raises(NotDoneError, match="no date and no set"):
        card_for(session, "wedding")
    with pytest.raises(NotDoneError, match="could be Low Tide; Low Water"):
        card_for(session, "low")
    with pytest.raises(NotDoneError, match="no tune"):
        card_for(session, "lost")
