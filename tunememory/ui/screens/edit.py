"""Add or edit a tune. Half the facts may be missing; nothing is kept until it is asked for."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.suggester import SuggestFromList
from textual.widgets import Input, TextArea

from tunememory.service.changes import same_title
from tunememory.service.drafts import key_of, tuning_of
from tunememory.service.errors import ServiceError
from tunememory.service.views import Draft
from tunememory.tunes.tune import Declared, Status
from tunememory.tunes.tuning import NICKNAMES
from tunememory.ui.actions import bind
from tunememory.ui.desk_screen import DeskScreen
from tunememory.ui.screens.confirm import ConfirmScreen
from tunememory.ui.text import say
from tunememory.ui.widgets.choice import Choice
from tunememory.ui.widgets.field import Field
from tunememory.ui.widgets.start_field import StartField

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual import events
    from textual.app import ComposeResult
    from textual.binding import BindingType

KINDS = (
    "reel", "jig", "hornpipe", "polka", "waltz", "slip jig", "slide", "march", "strathspey",
    "barndance", "schottische", "mazurka", "air", "breakdown",
)  # fmt: skip
"""Kinds offered while one is typed; any other word will do. Common practice, no source."""

LEAST_PARTS = ("A", "B", "C")
"""Parts a form has room for from the beginning."""

LAST_PART = "Z"


class EditScreen(DeskScreen[str]):
    """The form of a tune. Gives the identity of the tune kept, or ``None``.

    Args:
        uuid: The tune to change; ``None`` adds one.
        draft: What an added tune begins with.
    """

    OPENS_AREAS = False
    CSS = """
    EditScreen #form { height: 1fr; padding: 1 2 0 2; scrollbar-size-vertical: 1; }
    EditScreen.-short #form { padding: 0 2; }
    EditScreen TextArea {
        height: auto; max-height: 6; width: 1fr; padding: 0; border: none;
        background: $background; scrollbar-size-vertical: 1;
    }
    EditScreen TextArea:focus { background: $raised; border: none; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("ctrl+s,f2", "keep", "keep", "Keep what is typed and go back", key="ctrl+s"),
        bind("escape", "leave", "leave", "Leave the form"),
        Binding("down,enter", "app.focus_next", show=False),  # Enter: from a choice
        Binding("up", "app.focus_previous", show=False),
    ]

    def __init__(self, uuid: str | None = None, draft: Draft | None = None) -> None:
        super().__init__()
        self.uuid = uuid
        self._began_with = draft
        self._before: Draft | None = None

    def body(self) -> ComposeResult:
        """An empty scroll; the fields need the tune."""
        yield VerticalScroll(id="form", can_focus=False)

    def fill(self) -> None:
        """Build the form, once: coming back to it must not undo what was typed."""
        if self._before is not None:
            return
        given = self.desk.draft_of(self.uuid) if self.uuid else self._began_with or Draft()
        self.head(
            left="Edit" if self.uuid else "New tune",
            right=given.titles[0] if self.uuid and given.titles else "",
        )
        self.query_one("#form").mount(*self._fields(given))
        self.call_after_refresh(self._begin)
        self._before = given

    def _begin(self) -> None:
        self._before = self.draft()
        self.query_one("#name Input", Input).focus()

    def _fields(self, given: Draft) -> list[Field]:
        def line(
            name: str, value: str, placeholder: str = "", offers: tuple[str, ...] = ()
        ) -> Field:
            return Field(
                name,
                Input(
                    value,
                    placeholder,
                    compact=True,
                    select_on_focus=False,
                    suggester=SuggestFromList(offers, case_sensitive=False) if offers else None,
                ),
                id=name.replace(" ", "-"),
            )

        kept = dict(given.starts)
        parts = [*dict.fromkeys((*kept, *LEAST_PARTS))]
        return [
            line("name", given.titles[0] if given.titles else "", "a name is enough"),
            line("other names", "; ".join(given.titles[1:]), "parted by ;"),
            line("kind", given.kind, "reel, jig, waltz …", self._kinds()),
            line("key", given.key, "D, Em, Amix, B dorian …"),
            line("metre", given.metre, "6/8, C| …"),
            line(
                "tuning",
                given.tuning,
                f"your usual one, {self.desk.settings.usual.letters}",
                _tunings(),
            ),
            Field("status", Choice(tuple(Status), given.status), id="status"),
            Field("how well", Choice(tuple(Declared), given.declared), id="how-well"),
            Field(
                "favourite",
                Choice(("no", "yes"), "yes" if given.favourite else "no"),
                id="favourite",
            ),
            *(StartField(part, kept.get(part)) for part in parts),
            line("from", given.source, "whom or where you have it from"),
            Field("note", _note(given.note), id="note"),
        ]

    def _kinds(self) -> tuple[str, ...]:
        own = Counter(tune.kind for tune in self.desk.tunes.values() if tune.kind)
        return (*(kind for kind, _ in own.most_common()), *KINDS)

    # What is typed.

    def _typed(self, field: str) -> str:
        return self.query_one(f"#{field} Input", Input).value.strip()

    def _chosen(self, field: str) -> str:
        return self.query_one(f"#{field} Choice", Choice).value

    def draft(self) -> Draft:
        """What is typed now."""
        names = (self._typed("name"), *self._typed("other-names").split(";"))
        return Draft(
            titles=tuple(name.strip() for name in names if name.strip()),
            kind=self._typed("kind"),
            key=self._typed("key"),
            metre=self._typed("metre"),
            tuning=self._typed("tuning"),
            status=Status(self._chosen("status")),
            declared=Declared(self._chosen("how-well")),
            source=self._typed("from"),
            note=self.query_one("#note TextArea", TextArea).text,
            favourite=self._chosen("favourite") == "yes",
            starts=tuple(
                (start.part, start.text) for start in self.query(StartField) if start.counts
            ),
        )

    @property
    def changed(self) -> bool:
        """Whether anything was typed that is not kept."""
        return self._before is not None and self.draft() != self._before

    @on(Input.Changed)
    def _follow(self, event: Input.Changed) -> None:
        if self._before is None:
            return
        field = event.input.query_ancestor(Field)
        if isinstance(field, StartField):
            self._preview(field)
            self._room_for_more()
        elif field.id in {"key", "metre", "tuning"}:
            field.say("")
            for start in self.query(StartField):
                self._preview(start)
        elif field.id == "name":
            field.say(self._namesakes(event.value))
        else:
            field.say("")

    @on(Input.Submitted)
    def _next_field(self) -> None:
        self.focus_next()

    def _namesakes(self, name: str) -> str:
        others = [tune for tune in same_title(self.desk, name) if tune.uuid != self.uuid]
        if not others:
            return ""
        facts = ", ".join(
            filter(None, (others[0].kind, others[0].key.name if others[0].key else ""))
        )
        return f"You have a tune of this name already{f' ({facts})' if facts else ''}."

    def _preview(self, field: StartField) -> bool:
        """Show how a start is read; ``False`` when it cannot be."""
        if not field.text:
            field.nothing()
            return True
        try:
            view = self.desk.preview(
                field.text, self._typed("key"), self._typed("metre"), self._typed("tuning")
            )
        except ServiceError as error:
            # The service names the part it was given, which is always the first here.
            field.wrong(str(error).removeprefix("A start: "))
            return False
        field.show(view)
        return True

    def _room_for_more(self) -> None:
        last = self.query(StartField).last()
        if last.text and len(last.part) == 1 and last.part < LAST_PART:
            self.query_one("#form").mount(StartField(chr(ord(last.part) + 1), None), after=last)

    def on_descendant_blur(self, event: events.DescendantBlur) -> None:
        """Check a field when it is left."""
        if isinstance(event.widget, Input):
            self._check(event.widget.query_ancestor(Field))

    def _check(self, field: Field) -> bool:
        """Say under a field what is wrong with it; ``True`` when nothing is."""
        if isinstance(field, StartField):
            return self._preview(field)
        checks: dict[str, Callable[[str], object]] = {"key": key_of, "tuning": tuning_of}
        check = checks.get(field.id or "")
        if check is None:
            return True
        try:
            check(self._typed(str(field.id)))
        except ServiceError as error:
            field.say(str(error), wrong=True)
            return False
        return True

    # Keys.

    def action_keep(self) -> None:
        """Keep the tune, or go to the first field that cannot be read."""
        if self._before is None:
            return
        for field in self.query(Field):
            if not self._check(field):
                field.control.focus()
                return
        draft = self.draft()
        try:
            if self.uuid is None:
                kept = self.desk.add(draft).uuid
            elif draft == self._before:
                kept = self.uuid
            else:
                kept = self.desk.edit(self.uuid, draft).uuid
        except ServiceError as error:
            name = self.query_one("#name", Field)
            name.say(str(error), wrong=True)
            name.control.focus()
            return
        if self.uuid is None:
            say(
                self.tune_app,
                f"Kept {draft.titles[0] if draft.titles else 'a tune with no name yet'}.",
            )
        self.dismiss(kept)

    def action_leave(self) -> None:
        """Leave, asking only when something would be lost."""
        if not self.changed:
            self.dismiss(None)
            return
        self.app.push_screen(
            ConfirmScreen("Leave without keeping what you typed?", "leave", "stay"), self._left
        )

    def _left(self, sure: bool | None) -> None:
        if sure:
            self.dismiss(None)


def _note(text: str) -> TextArea:
    return TextArea(text, compact=True, tab_behavior="focus", show_line_numbers=False)


def _tunings() -> tuple[str, ...]:
    return tuple(dict.fromkeys(NICKNAMES.values()))
