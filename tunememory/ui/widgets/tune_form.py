"""The fields of a tune: a draft is put in and taken out."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.suggester import SuggestFromList
from textual.widgets import Input, TextArea

from tunememory.service.views import Draft
from tunememory.tunes.tune import DECLARED_WORDS, Status, declared_by
from tunememory.tunes.tuning import NICKNAMES
from tunememory.ui.widgets.choice import Choice
from tunememory.ui.widgets.field import Field
from tunememory.ui.widgets.start_field import StartField

if TYPE_CHECKING:
    from textual.app import ComposeResult

KINDS = (
    "reel", "jig", "hornpipe", "polka", "waltz", "slip jig", "slide", "march", "strathspey",
    "barndance", "schottische", "mazurka", "air", "breakdown",
)  # fmt: skip
"""Kinds offered while one is typed; any other word will do. Common practice, no source."""

LEAST_PARTS = ("A", "B", "C")
"""Parts a form has room for from the beginning."""

LAST_PART = "Z"

PARTINGS = (";", "|", "//")
"""Signs between other names; the first that no name holds itself."""


class TuneForm(VerticalScroll, can_focus=False, inherit_bindings=False):
    """The fields under one another; the arrows go from field to field instead of scrolling.

    Args:
        given: What the fields begin with.
        kinds: Kinds of tune the player has, the most frequent first.
        usual: Letters of the usual tuning.
    """

    DEFAULT_CSS = """
    TuneForm { height: 1fr; scrollbar-size-vertical: 1; }
    TuneForm TextArea {
        height: auto; max-height: 6; width: 1fr; padding: 0; border: none;
        background: $background; scrollbar-size-vertical: 1;
    }
    TuneForm TextArea:focus { background: $raised; border: none; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("down,enter", "app.focus_next", show=False),
        Binding("up", "app.focus_previous", show=False),
    ]

    def __init__(self, given: Draft, kinds: tuple[str, ...], usual: str) -> None:
        super().__init__()
        self._given = given
        self._kinds = tuple(dict.fromkeys((*kinds, *KINDS)))
        self._usual = usual
        others = "".join(given.titles[1:])
        self._parting = next((sign for sign in PARTINGS if sign not in others), PARTINGS[-1])

    def compose(self) -> ComposeResult:
        """Every field, the starts in the middle."""
        given = self._given
        parting = self._parting
        kept = dict(given.starts)
        yield _line("name", given.titles[0] if given.titles else "", "a name is enough")
        yield _line("other names", f"{parting} ".join(given.titles[1:]), f"parted by {parting}")
        yield _line("kind", given.kind, "reel, jig, waltz …", self._kinds)
        yield _line("key", given.key, "D, Em, Amix, B dorian …")
        yield _line("metre", given.metre, "6/8, C| …")
        yield _line(
            "tuning",
            given.tuning,
            f"your usual one, {self._usual}",
            tuple(dict.fromkeys(NICKNAMES.values())),
        )
        yield Field("status", Choice(tuple(Status), given.status), id="status")
        words = tuple(DECLARED_WORDS.values())
        yield Field("how well", Choice(words, DECLARED_WORDS[given.declared]), id="how-well")
        liked = Choice(("no", "yes"), "yes" if given.favourite else "no")
        yield Field("favourite", liked, id="favourite")
        for part in dict.fromkeys((*kept, *LEAST_PARTS)):
            yield StartField(part, kept.get(part))
        yield _line("from", given.source, "whom or where you have it from")
        note = TextArea(given.note, compact=True, tab_behavior="focus", show_line_numbers=False)
        yield Field("note", note, id="note")

    @property
    def starts(self) -> list[StartField]:
        """The fields of the starts, in the player's order of parts."""
        return list(self.query(StartField))

    def field(self, name: str) -> Field:
        """The field called ``name``."""
        return self.query_one(f"#{name}", Field)

    def typed(self, name: str) -> str:
        """What is typed in a field."""
        return self.query_one(f"#{name} Input", Input).value.strip()

    def draft(self) -> Draft:
        """What is typed now."""
        names = (self.typed("name"), *self.typed("other-names").split(self._parting))
        return Draft(
            titles=tuple(name.strip() for name in names if name.strip()),
            kind=self.typed("kind"),
            key=self.typed("key"),
            metre=self.typed("metre"),
            tuning=self.typed("tuning"),
            status=Status(self._chosen("status")),
            declared=declared_by(self._chosen("how-well")),
            source=self.typed("from"),
            note=self.query_one("#note TextArea", TextArea).text,
            favourite=self._chosen("favourite") == "yes",
            starts=tuple((start.part, start.text) for start in self.starts if start.counts),
        )

    def room_for_more(self) -> None:
        """Offer another part once the last one is filled."""
        last = self.starts[-1]
        if last.text and len(last.part) == 1 and last.part < LAST_PART:
            self.mount(StartField(chr(ord(last.part) + 1), None), after=last)

    def _chosen(self, name: str) -> str:
        return self.query_one(f"#{name} Choice", Choice).value


def _line(name: str, value: str, placeholder: str = "", offers: tuple[str, ...] = ()) -> Field:
    line = Input(
        value,
        placeholder,
        compact=True,
        select_on_focus=False,
        suggester=SuggestFromList(offers, case_sensitive=False) if offers else None,
    )
    return Field(name, line, id=name.replace(" ", "-"))
