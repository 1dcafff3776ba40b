"""One line to write, over the screen that asks for it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar, NamedTuple

from textual import on
from textual.binding import Binding
from textual.containers import Vertical, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from tunememory.errors import NotDoneError
from tunememory.text import fold, word_finder
from tunememory.ui.actions import bind
from tunememory.ui.screen import SessionScreen
from tunememory.ui.text import Piece, cell, joined, plain
from tunememory.ui.widgets import TABS, Field, LineInput, RowList, TitleSuggester, WordsLine
from tunememory.words import counted, figures

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from textual import events
    from textual.app import ComposeResult
    from textual.binding import BindingType

    from tunememory.session import Session
    from tunememory.ui.text import Span


class AskLine(ModalScreen[str]):
    """Asks for a line; gives what was kept, or ``None`` when it was left out.

    Args:
        question: What is asked.
        keep: Does what is to be done with the line; an error for the player is said under the
            line, which stays.
        given: What stands on the line at first.
        hint: Shown on an empty line.
        words: What Enter and Escape are called.
        titles: Titles of tunes that are completed as one types.
    """

    AUTO_FOCUS = "LineInput"
    CSS = """
    AskLine { align: center middle; background: $background 60%; }
    AskLine > Vertical {
        width: 72; max-width: 96%; height: auto; padding: 1 3; background: $raised;
        border: round $staff;
    }
    AskLine Static { height: auto; }
    AskLine LineInput { width: 1fr; margin: 1 0; background: $mark-bg; }
    AskLine #wrong { color: $lost; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("escape", "leave_out", "leave out", "Leave the line out"),
    ]

    def __init__(
        self,
        question: str,
        keep: Callable[[str], object],
        given: str = "",
        hint: str = "",
        words: tuple[str, str] = ("keep", "leave it out"),
        titles: Sequence[str] = (),
    ) -> None:
        super().__init__()
        self._question = question
        self._keep = keep
        self._given = given
        self._hint = hint
        self._words = words
        self._titles = titles

    def compose(self) -> ComposeResult:
        """The question, the line, what is wrong with it, the two keys."""
        accent = "bold $accent"
        keep, leave = self._words
        with Vertical():
            yield Static(plain(self._question))
            line = LineInput(self._hint)
            line.suggester = TitleSuggester(self._titles) if self._titles else None
            line.value = self._given
            yield line
            yield Static(id="wrong")
            keys: list[Piece] = [("enter", accent), f" {keep}     ", ("esc", accent), f" {leave}"]
            if self._titles:
                keys += ["     ", ("→", accent), " take the name offered"]
            yield Static(joined(*keys))

    def on_mount(self) -> None:
        """Take no room for what is wrong while nothing is."""
        self.query_one("#wrong").display = False

    def on_key(self, event: events.Key) -> None:
        """Lose no letter typed before the line had the focus."""
        self.query_one(LineInput).take(event)

    @on(LineInput.Submitted)
    def _done(self, event: LineInput.Submitted) -> None:
        event.stop()
        try:
            self._keep(event.value)
        except NotDoneError as error:
            wrong = self.query_one("#wrong", Static)
            wrong.update(plain(str(error)))
            wrong.display = True
            return
        self.dismiss(event.value)

    def action_leave_out(self) -> None:
        """Close without the line."""
        self.dismiss(None)


class ConfirmScreen(ModalScreen[bool]):
    """Asks; gives ``True`` for yes. Escape and ``n`` are no."""

    AUTO_FOCUS = ""
    CSS = """
    ConfirmScreen { align: center middle; background: $background 60%; }
    ConfirmScreen > Vertical {
        width: auto; max-width: 90%; height: auto; padding: 1 3; background: $raised;
        border: round $staff;
    }
    ConfirmScreen Static { width: auto; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("y", "answer(True)", "yes", "Yes"),
        bind("n,escape", "answer(False)", "no", "No, leave it as it is"),
    ]

    def __init__(self, question: str, yes: str = "yes", no: str = "no") -> None:
        super().__init__()
        self._question = question
        self._words = (yes, no)

    def compose(self) -> ComposeResult:
        """The question, and the two keys under it."""
        yes, no = self._words
        with Vertical():
            yield Static(plain(self._question))
            yield Static(
                joined("\n", ("y", "bold $accent"), f" {yes}     ", ("n", "bold $accent"), f" {no}")
            )

    def action_answer(self, answer: bool) -> None:
        """Close with the answer."""
        self.dismiss(answer)


def confirm(
    screen: SessionScreen[Any],
    question: str,
    answers: tuple[str, str],
    then: Callable[[], object],
) -> None:
    """Ask before something is done; what goes wrong with it is said on ``screen``.

    Args:
        screen: Asks.
        question: What is asked.
        answers: What yes and no are called.
        then: Does it.
    """

    def answered(sure: bool | None) -> None:
        if sure:
            with screen.trying():
                then()

    screen.app.push_screen(ConfirmScreen(question, *answers), answered)


def leave_form(form: SessionScreen[Any], *, changed: bool) -> None:
    """Leave a form, asking only when something would be lost."""

    def leave() -> None:
        form.dismiss(None)

    if changed:
        confirm(form, "Leave without keeping what you typed?", ("leave", "stay"), leave)
    else:
        leave()


class PickRow(NamedTuple):
    """What can be picked: ``folded`` is looked through, ``facts`` stand beside the title."""

    uuid: str
    title: str
    facts: str
    folded: str


def tunes_to_pick(session: Session) -> tuple[PickRow, ...]:
    """Every tune."""
    from tunememory.library.overview import tune_rows  # noqa: PLC0415 - not needed to paint

    return tuple(
        PickRow(row.tune.uuid, row.tune.title, row.tune.facts, row.folded)
        for row in tune_rows(session)
    )


def sets_to_pick(session: Session) -> tuple[PickRow, ...]:
    """Every set."""
    from tunememory.library.sets import all_sets  # noqa: PLC0415 - not needed to paint

    return tuple(
        PickRow(one.uuid, one.name, counted(len(one.tunes), "tune"), fold(one.name))
        for one in all_sets(session)
    )


class PickLine(LineInput):
    """The line over the list."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter", "submit", "pick", "Pick what the cursor is on, or let it go again"),
    ]


class PickScreen(SessionScreen[tuple[str, ...]]):
    """Gives the identities picked, in order, or ``None``.

    Args:
        question: What is picked, in words; stands at the top.
        picked: What is picked already.
        many: Several may be picked; otherwise the first one ends it.
        read: Gives what can be picked.
    """

    OPENS_AREAS = False
    NOTHING: ClassVar[str] = "There is nothing to pick yet."
    DEFAULT_CSS = """
    PickScreen #said { height: 1; padding: 0 2 0 4; color: $quiet; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("ctrl+s,f2", "keep", "done", "Take what is picked and go back", key="ctrl+s"),
        bind("escape", "leave", "leave", "Go back without picking", key="esc"),
    ]

    def __init__(
        self,
        question: str,
        picked: Sequence[str] = (),
        *,
        many: bool = False,
        read: Callable[[Session], tuple[PickRow, ...]] = tunes_to_pick,
    ) -> None:
        super().__init__()
        self._question = question
        self._picked = list(picked)
        self._many = many
        self._read = read
        self._all: tuple[PickRow, ...] = ()

    def body(self) -> ComposeResult:
        """The line, what is said, the list."""
        yield WordsLine(PickLine("letters of a name"))
        yield Static(id="said")
        yield RowList(self._write)

    def _write(self, row: PickRow, width: int) -> list[Span]:
        """Write a thing to pick, a picked one numbered."""
        number = self._picked.index(row.uuid) + 1 if row.uuid in self._picked else 0
        mark = f"{number:>3} " if number else "  · "
        title = max(0, width - 24)
        return [
            (mark, "bright" if number else "staff"),
            (cell(row.title, title), "strong" if number else ""),
            (cell(f" {row.facts}", width - 4 - title), "quiet"),
        ]

    @property
    def all_rows(self) -> tuple[PickRow, ...]:
        """Everything that can be picked."""
        return self._all

    def fill(self) -> None:
        """Show the list, what is picked first."""
        self.head(left=self._question)
        rows = {row.uuid: row for row in self._read(self.session)}
        self._picked = [uuid for uuid in self._picked if uuid in rows]
        first = [rows[uuid] for uuid in dict.fromkeys(self._picked)]
        self._all = (*first, *(row for row in rows.values() if row not in first))
        self.query_one(PickLine).focus()
        self._show()

    def _show(self) -> None:
        found = word_finder(self.query_one(PickLine).value)
        shown = tuple(row for row in self._all if found(row.folded))
        rows = self.query_one(RowList)
        rows.renew(shown, lambda row: row.uuid)
        said = f"{figures(len(self._picked))} picked" if self._many else ""
        if not self._all:
            said = self.NOTHING
        elif not shown:
            said = "Nothing has that in its name."
        self.query_one("#said", Static).update(plain(said))
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """For one there is no need to say that all are picked."""
        if action == "keep":
            return self._many
        return super().check_action(action, parameters)

    def on_key(self, event: events.Key) -> None:
        """Lose no letter typed before the line had the focus."""
        self.query_one(PickLine).take(event)

    @on(LineInput.Changed)
    def _typed(self) -> None:
        self._show()

    @on(LineInput.Moved)
    def _moved(self, event: LineInput.Moved) -> None:
        self.query_one(RowList).move(event.rows, event.pages)

    @on(LineInput.Submitted)
    @on(RowList.Chosen)
    def _pick(self) -> None:
        row = self.query_one(RowList).current
        if row is None:
            return
        if not self._many:
            self.chosen(row.uuid)
            return
        if row.uuid in self._picked:
            self._picked.remove(row.uuid)
        else:
            self._picked.append(row.uuid)
        # The next name can be typed at once.
        line = self.query_one(PickLine)
        if line.value:
            line.value = ""
        else:
            self._show()

    def chosen(self, uuid: str) -> None:
        """Take the one that is picked."""
        self.dismiss((uuid,))

    def action_keep(self) -> None:
        """Take what is picked."""
        self.dismiss(tuple(self._picked))

    def action_leave(self) -> None:
        """Pick nothing."""
        self.dismiss(None)


class FormLines(VerticalScroll, can_focus=False, inherit_bindings=False):
    """The lines; the arrows go from one to the next."""

    DEFAULT_CSS = "FormLines { height: 1fr; padding: 1 2 1 0; scrollbar-size-vertical: 1; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("down", "app.focus_next", show=False),
        Binding("up", "app.focus_previous", show=False),
    ]


class FormScreen(SessionScreen[str]):
    """A form. Gives the identity of what was kept, or ``None``."""

    OPENS_AREAS = False
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("ctrl+s,f2", "keep", "keep", "Keep what is typed and go back", key="ctrl+s"),
        bind("escape", "leave", "leave", "Leave the form", key="esc"),
        *TABS,
    ]

    ENTER_KEEPS: ClassVar[bool] = False
    """Whether Enter on any line keeps the form, instead of going to the next line."""

    def lines(self) -> tuple[Field, ...]:
        """The lines to fill in; the session is ready."""
        raise NotImplementedError

    def keep(self) -> str:
        """Keep what is typed and return the identity of it; an error for the player is said."""
        raise NotImplementedError

    def follow(self, name: str, text: str) -> str:
        """Return what to say under a line as it is typed; an error says what is wrong with it."""
        del name, text
        return ""

    def body(self) -> ComposeResult:
        """One field a line."""
        with FormLines():
            yield from self.lines()

    def on_mount(self) -> None:
        """Begin on the first line."""
        self._before = self.typed_all()
        self._inputs()[0].focus()

    def _inputs(self) -> list[Input]:
        return list(self.query(Input))

    def typed(self, name: str) -> str:
        """What is typed on a line."""
        return self.query_one(f"#{name} Input", Input).value.strip()

    def typed_all(self) -> list[str]:
        """Everything that is typed."""
        return [line.value for line in self._inputs()]

    def on_key(self, event: events.Key) -> None:
        """Lose no letter typed before the first line had the focus."""
        if self.focused is None and event.is_printable and event.character is not None:
            self._inputs()[0].insert_text_at_cursor(event.character)
            event.stop()

    @on(Input.Changed)
    def _typed(self, event: Input.Changed) -> None:
        """Say how a line is read; what is wrong can wait until it is left."""
        self._follow(event.input, complain=False)

    def on_descendant_blur(self, event: events.DescendantBlur) -> None:
        """Say what is wrong with a line that is left."""
        if isinstance(event.widget, Input):
            self._follow(event.widget, complain=True)

    def _follow(self, line: Input, *, complain: bool) -> None:
        field = line.query_ancestor(Field)
        try:
            field.say(self.follow(str(field.id), line.value.strip()))
        except NotDoneError as error:
            field.say(str(error) if complain else "", wrong=complain)

    @on(Input.Submitted)
    def _entered(self, event: Input.Submitted) -> None:
        if self.ENTER_KEEPS or event.input is self._inputs()[-1]:
            self.action_keep()
        else:
            self.focus_next()

    def action_keep(self) -> None:
        """Keep what is typed, or say what is wrong with it."""
        try:
            kept = self.keep()
        except NotDoneError as error:
            self.query(Field).first().say(str(error), wrong=True)
            self._inputs()[0].focus()
            return
        self.dismiss(kept)

    def action_leave(self) -> None:
        """Leave, asking only when something would be lost."""
        leave_form(self, changed=self.typed_all() != self._before)
