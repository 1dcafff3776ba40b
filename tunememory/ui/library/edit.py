"""Add or edit a tune. Half the facts may be missing; nothing is kept until it is asked for."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Input, TextArea

from tunememory.errors import NotDoneError
from tunememory.library.adding import (
    Draft,
    add_names,
    add_tune,
    draft_of,
    edit_tune,
    had_as,
    preview_start,
    same_title,
    sound_of_draft,
)
from tunememory.music.strings import NICKNAMES, tuning_of
from tunememory.music.tune import DECLARED_WORDS, Status, declared_by
from tunememory.music.typed_starts import key_of
from tunememory.ui.actions import bind
from tunememory.ui.library.drawing import FORMS, start_lines
from tunememory.ui.questions import ConfirmScreen, leave_form
from tunememory.ui.screen import HearingScreen
from tunememory.ui.text import say
from tunememory.ui.widgets import TABS, Choice, Field, Lines, line_field

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual import events
    from textual.app import ComposeResult

    from tunememory.library.starts import StartView
    from tunememory.music.tune import Tune
    from tunememory.ui.text import Span


class StartField(Field):
    """One part's start.

    Args:
        part: Its letter.
        kept: What is kept of it: ``None`` when there is no such part yet, empty when it is known
            of but not written down.
    """

    DEFAULT_CSS = """
    StartField Lines { margin-left: 16; }
    """

    def __init__(self, part: str, kept: str | None) -> None:
        typing = Input(kept or "", "the first two bars or so", compact=True, select_on_focus=False)
        super().__init__(f"{part} start", typing, id=f"start-{part}")
        self.part = part
        self._typing = typing
        self._notes = Lines()
        self._known_of = kept == ""

    def compose(self) -> ComposeResult:
        """The field, and the notes under it."""
        yield from super().compose()
        yield self._notes

    @property
    def text(self) -> str:
        """What is typed."""
        return self._typing.value.strip()

    @property
    def counts(self) -> bool:
        """Whether the tune has this part."""
        return bool(self.text) or self._known_of

    def nothing(self) -> None:
        """Show no notes."""
        self.say("")
        self._notes.show(lambda _: [])

    def wrong(self, why: str) -> None:
        """Say why the start cannot be read."""
        self._notes.show(lambda _: [])
        self.say(why, wrong=True)

    def show(self, view: StartView) -> None:
        """Show the notes in every form, and what is doubtful about them."""

        def drawn(width: int) -> list[list[Span]]:
            return [
                [(text, "" if form == "letters" else "quiet")]
                for form, text in start_lines(view, width, FORMS)
            ]

        self._notes.show(drawn)
        key = f"This part is in {view.start.key.name}." if view.start.key else ""
        doubt = f"not sure: {view.doubt}" if view.doubt else ""
        self.say(" ".join(remark for remark in (key, view.beyond, doubt) if remark))


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
        yield line_field("name", given.titles[0] if given.titles else "", "a name is enough")
        others = f"{parting} ".join(given.titles[1:])
        yield line_field("other names", others, f"parted by {parting}")
        yield line_field("kind", given.kind, "reel, jig, waltz …", self._kinds)
        yield line_field("key", given.key, "D, Em, Amix, B dorian …")
        yield line_field("metre", given.metre, "6/8, C| …")
        yield line_field(
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
        yield line_field("from", given.source, "whom or where you have it from")
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
                self._given = draft_of(self.session.tune(self.uuid))
        own = Counter(tune.kind for tune in self.session.tunes.values() if tune.kind)
        kinds = tuple(kind for kind, _ in own.most_common())
        yield TuneForm(self._given, kinds, self.session.settings.usual.letters)

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
        others = [tune for tune in same_title(self.session, name) if tune.uuid != self.uuid]
        if not others:
            return ""
        facts = (others[0].kind, others[0].key_name)
        said = ", ".join(fact for fact in facts if fact)
        return f"You have a tune of this name already{f' ({said})' if said else ''}."

    def _preview(self, field: StartField) -> bool:
        """Show how a start is read; ``False`` when it cannot be."""
        if not field.text:
            field.nothing()
            return True
        try:
            view = preview_start(self.session, field.text, self.form.draft())
        except NotDoneError as error:
            # It names the part it was given, which is always the first here.
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
        except NotDoneError as error:
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
        same = had_as(self.session, draft) if self.uuid is None else None
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
                add_names(self.session, same.uuid, draft.titles)
                say(self.tune_app, f"Kept as one with {same.title}.")
                self.dismiss(same.uuid)

        question = f"You have this as “{same.title}”. Are they one tune?"
        self.app.push_screen(ConfirmScreen(question, "one tune", "two tunes"), answered)

    def _keep(self, draft: Draft) -> None:
        try:
            if self.uuid is None:
                kept = add_tune(self.session, draft).uuid
            elif draft == self._before:
                kept = self.uuid
            else:
                kept = edit_tune(self.session, self.uuid, draft).uuid
        except NotDoneError as error:
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
            self.hear(sound_of_draft(self.session, self.form.draft(), (here or typed[0]).part))

    def action_leave(self) -> None:
        """Leave, asking only when something would be lost."""
        leave_form(self, changed=self.changed)
