"""Add or edit a tune. Half the facts may be missing; nothing is kept until it is asked for."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.widgets import Input

from tunememory.service.changes import same_title
from tunememory.service.errors import ServiceError
from tunememory.service.typed import key_of, tuning_of
from tunememory.service.views import Draft
from tunememory.ui.actions import bind
from tunememory.ui.hearing import HearingScreen
from tunememory.ui.screens.confirm import ConfirmScreen
from tunememory.ui.text import say
from tunememory.ui.widgets.field import TABS, Field
from tunememory.ui.widgets.start_field import StartField
from tunememory.ui.widgets.tune_form import TuneForm

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual import events
    from textual.app import ComposeResult
    from textual.binding import BindingType

    from tunememory.tunes.tune import Tune

_CHECKS: dict[str, Callable[[str], object]] = {"key": key_of, "tuning": tuning_of}
"""Fields that can be wrong on their own, and what reads them."""


class EditScreen(HearingScreen[str]):
    """The form of a tune. Gives the identity of the tune kept, or ``None``.

    Args:
        uuid: The tune to change; ``None`` adds one.
        draft: What an added tune begins with.
    """

    OPENS_AREAS = False
    CSS = """
    EditScreen TuneForm { padding: 1 2 0 0; }
    EditScreen.-short TuneForm { padding: 0 2 0 0; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("ctrl+s,f2", "keep", "keep", "Keep what is typed and go back", key="ctrl+s"),
        bind("escape", "leave", "leave", "Leave the form"),
        bind("ctrl+t", "hear", "hear it", "Hear the start one is in, or stop it", key="ctrl+t"),
        *TABS,
    ]

    def __init__(self, uuid: str | None = None, draft: Draft | None = None) -> None:
        super().__init__()
        self.uuid = uuid
        self._given = draft or Draft()
        self._before: Draft | None = None

    @property
    def form(self) -> TuneForm:
        """The fields."""
        return self.query_one(TuneForm)

    def body(self) -> ComposeResult:
        """The fields, filled from the start, so that no letter typed is too early for them."""
        with self.trying():
            if self.uuid:
                self._given = self.desk.draft_of(self.uuid)
        own = Counter(tune.kind for tune in self.desk.tunes.values() if tune.kind)
        kinds = tuple(kind for kind, _ in own.most_common())
        yield TuneForm(self._given, kinds, self.desk.settings.usual.letters)

    def fill(self) -> None:
        """Begin, once: coming back to the form must not undo what was typed."""
        if self._before is not None:
            return
        self._before = self.form.draft()
        title = self._given.titles[0] if self.uuid and self._given.titles else ""
        self.head(left="Edit" if self.uuid else "New tune", right=title)
        self.form.field("name").control.focus()
        for start in self.form.starts:
            self._preview(start)

    @property
    def changed(self) -> bool:
        """Whether anything was typed that is not kept."""
        return self._before is not None and self.form.draft() != self._before

    # What is said while typing.

    @on(Input.Changed)
    def _follow(self, event: Input.Changed) -> None:
        field = event.input.query_ancestor(Field)
        if isinstance(field, StartField):
            self._preview(field)
            self.form.room_for_more()
        elif field.id in {"key", "metre", "tuning", "kind"}:
            field.say("")
            for start in self.form.starts:
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
        facts = (others[0].kind, others[0].key.name if others[0].key else "")
        said = ", ".join(fact for fact in facts if fact)
        return f"You have a tune of this name already{f' ({said})' if said else ''}."

    def _preview(self, field: StartField) -> bool:
        """Show how a start is read; ``False`` when it cannot be."""
        if not field.text:
            field.nothing()
            return True
        facts = [self.form.typed(name) for name in ("key", "metre", "tuning", "kind")]
        try:
            view = self.desk.preview(field.text, *facts)
        except ServiceError as error:
            # The service names the part it was given, which is always the first here.
            field.wrong(str(error).removeprefix("A start: "))
            return False
        field.show(view)
        return True

    def on_descendant_blur(self, event: events.DescendantBlur) -> None:
        """Check a field when it is left."""
        if isinstance(event.widget, Input):
            self._check(event.widget.query_ancestor(Field))

    def _check(self, field: Field) -> bool:
        """Say under a field what is wrong with it; ``True`` when nothing is."""
        if isinstance(field, StartField):
            return self._preview(field)
        check = _CHECKS.get(field.id or "")
        if check is None:
            return True
        try:
            check(self.form.typed(str(field.id)))
        except ServiceError as error:
            field.say(str(error), wrong=True)
            return False
        return True

    # Keys.

    def action_keep(self) -> None:
        """Keep the tune, or go to the first field that cannot be read."""
        for field in self.query(Field):
            if not self._check(field):
                field.control.focus()
                return
        draft = self.form.draft()
        same = self.desk.had_as(draft) if self.uuid is None else None
        if same is not None:
            self._ask_whether_one(same, draft)
        else:
            self._keep(draft)

    def _ask_whether_one(self, same: Tune, draft: Draft) -> None:
        """Offer to keep only one of two tunes that begin just alike."""

        def answered(one: bool | None) -> None:
            if not one:
                self._keep(draft)
                return
            with self.trying():
                self.desk.name_too(same.uuid, draft.titles)
                say(self.tune_app, f"Kept as one with {same.title}.")
                self.dismiss(same.uuid)

        question = f"You have this as “{same.title}”. Are they one tune?"
        self.app.push_screen(ConfirmScreen(question, "one tune", "two tunes"), answered)

    def _keep(self, draft: Draft) -> None:
        try:
            if self.uuid is None:
                kept = self.desk.add(draft).uuid
            elif draft == self._before:
                kept = self.uuid
            else:
                kept = self.desk.edit(self.uuid, draft).uuid
        except ServiceError as error:
            name = self.form.field("name")
            name.say(str(error), wrong=True)
            name.control.focus()
            return
        if self.uuid is None:
            title = draft.titles[0] if draft.titles else "a tune with no name yet"
            say(self.tune_app, f"Kept {title}.")
        self.dismiss(kept)

    def action_hear(self) -> None:
        """Hear the start one is in, else the first, as it is typed; or stop."""
        if self.sounds:
            self.hush()
            return
        typed = [start for start in self.form.starts if start.text]
        here = next((start for start in typed if start.has_class("-here")), None)
        if not typed:
            say(self.tune_app, "Type a start first, then hear it.")
            return
        with self.trying():
            self.hear(self.desk.sound_of_draft(self.form.draft(), (here or typed[0]).part))

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
