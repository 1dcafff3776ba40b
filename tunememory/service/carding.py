"""The card for the case: of all tunes, of a date, a set, a status or a state."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.cards.as_html import card_html
from tunememory.cards.as_text import WIDTH, card_text
from tunememory.cards.card import Alike, Card, make_card
from tunememory.cards.page import Paper
from tunememory.planning.calendar import tunes_of
from tunememory.service import twins
from tunememory.service.errors import ServiceError
from tunememory.service.overview import rows_of
from tunememory.service.sets import name_of
from tunememory.service.views import State
from tunememory.store.errors import RepertoireError
from tunememory.tunes.text import clean_text, fold_title
from tunememory.tunes.tune import Status

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.service.open_file import OpenFile


PAPERS = tuple(paper.value for paper in Paper)
"""Sizes of paper a card can be printed on, the pocket size first."""


def card_for(desk: OpenFile, what: str = "") -> Card:
    """Return a card.

    Args:
        desk: The open repertoire.
        what: Name of a date, of a set, a status (``"learning"``) or a state (``"safe"``); empty
            for all kept tunes and those in learning.

    Raises:
        ServiceError: Nothing goes by that name, several things do, or there is no tune to show.
    """
    heading, uuids = _meant(desk, clean_text(what))
    return card_of(desk, heading, uuids)


def card_of(desk: OpenFile, heading: str, uuids: Sequence[str]) -> Card:
    """Return a card of some tunes.

    Raises:
        ServiceError: There is no tune to show, or one is gone.
    """
    if not uuids:
        raise ServiceError(f"{heading}: there is no tune to put on the card")
    if not desk.repertoire.readonly:
        try:
            twins.ensure(desk, uuids)
        except RepertoireError as error:
            raise ServiceError(str(error)) from error
    alike = {
        uuid: [Alike(twin.title, twin.parts_at) for twin in twins.twins_of(desk, uuid)]
        for uuid in uuids
    }
    tunes = [desk.tune(uuid) for uuid in dict.fromkeys(uuids)]
    return make_card(tunes, desk.settings.usual, heading, alike, instrument=desk.settings.on)


def text_of(card: Card, width: int = WIDTH) -> str:
    """Return a card as plain text, so many characters wide."""
    return card_text(card, width)


def html_of(card: Card, paper: str = PAPERS[0]) -> str:
    """Return a card as one page for the printer, on paper of one of ``PAPERS``."""
    return card_html(card, Paper(paper))


def _meant(desk: OpenFile, what: str) -> tuple[str, list[str]]:
    """Heading and tunes of what is meant."""
    active = [tune.uuid for tune in desk.active()]
    if not what:
        return "My tunes", active
    word = what.casefold()
    if word in set(Status):
        return f"Tunes {word}", [t.uuid for t in desk.tunes.values() if t.status == word]
    if word in set(State):
        rows = rows_of(desk, active)
        return f"Tunes {word}", [row.uuid for row in rows if row.chance.state == word]
    named = _named(desk, what)
    if not named:
        raise ServiceError(
            f"“{what}” is no date and no {desk.settings.set_word}; it can also be "
            f"{', '.join((*Status, *State))}"
        )
    if len(named) > 1:
        raise ServiceError(f"“{what}” could be {'; '.join(name for name, _ in named)}")
    return named[0]


def _named(desk: OpenFile, what: str) -> list[tuple[str, list[str]]]:
    """Dates and sets by their whole name, or else by the beginning of a word of it."""
    found = [
        *((dated.title, list(tunes_of(dated, desk.sets))) for dated in desk.dates.values()),
        *((name_of(desk, one), list(one.tunes)) for one in desk.sets.values()),
    ]
    wanted = fold_title(what)
    whole = [(name, tunes) for name, tunes in found if fold_title(name) == wanted]
    some = whole or [
        (name, tunes) for name, tunes in found if f" {wanted}" in f" {fold_title(name)}"
    ]
    return [(name, [uuid for uuid in tunes if uuid in desk.tunes]) for name, tunes in some]
