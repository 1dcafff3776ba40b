"""What is typed into: a line over a list, the fields of a form, a choice, a line with titles."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.message import Message
from textual.reactive import reactive
from textual.suggester import Suggester, SuggestFromList
from textual.widget import Widget
from textual.widgets import Input, Static

from tunememory.text import ARTICLES
from tunememory.ui.actions import bind
from tunememory.ui.text import plain

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual import events
    from textual.app import ComposeResult

    from tunememory.session import Session


class LineInput(Input):
    """Typing, with the keys that move about the list beneath.

    Every key becomes a message of this widget, after the ``Changed`` of the letters before it:
    letters and Enter sent in one go (a paste, a slow line) are obeyed in the order they came.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter", "submit", "open", "Open what the cursor is on"),
        Binding("up", "step(-1)", show=False),
        Binding("down", "step(1)", show=False),
        Binding("pageup", "leaf(-1)", show=False),
        Binding("pagedown", "leaf(1)", show=False),
    ]

    class Moved(Message):
        """The cursor of the list is to move by rows or by pages."""

        def __init__(self, rows: int = 0, pages: int = 0) -> None:
            super().__init__()
            self.rows = rows
            self.pages = pages

    def __init__(self, placeholder: str = "") -> None:
        super().__init__(placeholder=placeholder, compact=True, select_on_focus=False)

    def take(self, event: events.Key) -> None:
        """Type a letter that was sent before this line had the focus."""
        if event.is_printable and event.character is not None:
            self.insert_text_at_cursor(event.character)
            event.stop()
            event.prevent_default()

    def action_step(self, rows: int) -> None:
        """Move by rows."""
        self.post_message(self.Moved(rows=rows))

    def action_leaf(self, pages: int) -> None:
        """Move by pages."""
        self.post_message(self.Moved(pages=pages))


class WordsLine(Horizontal):
    """The line over a list that follows it, a sign before it.

    Args:
        line: What is typed into.
        sign: Stands before it, a blank included.
    """

    SCOPED_CSS = False
    DEFAULT_CSS = """
    WordsLine { height: 1; padding: 0 2; margin-top: 1; }
    WordsLine Static { width: auto; color: $accent; text-style: bold; }
    WordsLine Input { width: 1fr; background: $raised; padding: 0; }
    .-short WordsLine { margin-top: 0; }
    """

    def __init__(self, line: LineInput, sign: str = "/ ") -> None:
        super().__init__(Static(plain(sign)), line)


TABS = (
    bind("tab", "app.focus_next", "", "Go to the next line", shown=False, priority=True),
    bind(
        "shift+tab", "app.focus_previous", "", "Go to the line before", shown=False, priority=True
    ),
)
"""From field to field, before any later key is given to a field: what is typed right after Tab
belongs to the next one."""


class Field(Vertical):
    """A named control.

    Args:
        name: What stands before it.
        control: The widget that is typed into.
    """

    DEFAULT_CSS = """
    Field { height: auto; }
    Field > Horizontal { height: auto; }
    Field .name { width: 16; height: 1; color: $quiet; }
    Field.-here .name { color: $accent; text-style: bold; }
    Field Input { background: $background; width: 1fr; }
    Field Input:focus { background: $raised; }
    Field .said { display: none; height: auto; margin-left: 16; color: $quiet; }
    Field .said.-wrong { color: $lost; }
    """

    def __init__(self, name: str, control: Widget, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self._label = name
        self.control = control
        # Made here, so that a field can be spoken to before it is on the screen.
        self._said = Static(classes="said")
        self._named = Static(plain(f"  {name}"), classes="name")

    def compose(self) -> ComposeResult:
        """Name and control on one line, what is said under them."""
        with Horizontal():
            yield self._named
            yield self.control
        yield self._said

    def on_descendant_focus(self) -> None:
        """Mark the name of the field one is in."""
        self.add_class("-here")
        self._named.update(plain(f"▸ {self._label}"))

    def on_descendant_blur(self) -> None:
        """Take the mark away."""
        self.remove_class("-here")
        self._named.update(plain(f"  {self._label}"))

    def say(self, text: str, *, wrong: bool = False) -> None:
        """Say one line under the control; an empty text takes it away."""
        self._said.set_class(wrong, "-wrong")
        self._said.update(plain(text))
        self._said.display = bool(text)


def line_field(
    label: str,
    given: str = "",
    hint: str = "",
    offers: Sequence[str] = (),
    *,
    id: str | None = None,  # noqa: A002
) -> Field:
    """Return a field of one line to type in.

    Args:
        label: What stands before it.
        given: What is on it at first.
        hint: Shown while it is empty.
        offers: Words that complete what is typed.
        id: Its identity; its label if not given, with hyphens for blanks.
    """
    words = SuggestFromList(offers, case_sensitive=False) if offers else None
    line = Input(given, hint, compact=True, select_on_focus=False, suggester=words)
    return Field(label, line, id=id or label.replace(" ", "-"))


class Choice(Widget, can_focus=True):
    """Shows all the words on one line, the chosen one marked by a note head.

    Where they have no room beside one another, only the chosen one is shown and its place.
    """

    DEFAULT_CSS = """
    Choice {
        height: 1;
        width: 1fr;
        color: $quiet;
    }
    Choice:focus { background: $raised; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "turn(-1)", "Word before", show=False),
        Binding("right,space", "turn(1)", "Next word", show=False),
    ]

    place: reactive[int] = reactive(0, init=False)

    class Changed(Message):
        """Another word was chosen."""

        def __init__(self, choice: Choice) -> None:
            super().__init__()
            self.choice = choice

        @property
        def control(self) -> Choice:
            """The choice, for ``@on`` selectors."""
            return self.choice

    def __init__(self, words: tuple[str, ...], chosen: str, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self.words = words
        self.set_reactive(Choice.place, words.index(chosen))

    @property
    def value(self) -> str:
        """The chosen word."""
        return self.words[self.place]

    def watch_place(self) -> None:
        """Tell the screen."""
        self.post_message(self.Changed(self))

    def render(self) -> Content:
        """Write the words."""
        if not self._fits:
            which = f" ›  {self.place + 1} of {len(self.words)}"
            return Content.assemble("‹ ", (self.value, "bold $foreground"), which)
        pieces: list[Content] = []
        for place, word in enumerate(self.words):
            here = place == self.place
            style = "bold $foreground" if here else ""
            pieces.append(Content.styled(("● " if here else "○ ") + word, style))
        return Content("  ").join(pieces)

    @property
    def _fits(self) -> bool:
        taken = sum(len(word) + 4 for word in self.words) - 2
        return taken <= self.size.width

    def action_turn(self, words: int) -> None:
        """Choose the next word (1) or the one before (-1), round and round."""
        self.place = (self.place + words) % len(self.words)

    def on_click(self, event: events.Click) -> None:
        """Choose the word clicked."""
        self.focus()
        if not self._fits:
            self.action_turn(-1 if event.x < 2 else 1)
            return
        left = 0
        for place, word in enumerate(self.words):
            right = left + len(word) + 4
            if left <= event.x < right:
                self.place = place
                return
            left = right


def expanded(typed: str) -> Path:
    """Return the path typed, ``~`` made into the home folder."""
    path = Path(typed)
    try:
        return path.expanduser()
    except RuntimeError:
        return path


LEAST_LETTERS = 3
"""Letters from which a title is offered."""

MOST_WORDS = 6
"""Last words of a line that may be the beginning of a title."""


def title_completed(line: str, titles: Sequence[str]) -> str:
    """Return ``line`` with its end made into the first of ``titles`` that goes on so, else empty.

    A title can be begun without its article, and in small letters: it comes as it is written.

    >>> title_completed("slowly: mas", ["The Mason's Apron"])
    "slowly: Mason's Apron"
    >>> title_completed("of", ["Off to California"])
    ''
    """
    words = line.split(" ")
    for place in range(max(0, len(words) - MOST_WORDS), len(words)):
        end = " ".join(words[place:])
        if len(end) < LEAST_LETTERS:
            return ""
        for title in titles:
            for named in (title, _bare(title)):
                if len(named) > len(end) and named.casefold().startswith(end.casefold()):
                    return line[: len(line) - len(end)] + named
    return ""


def titles_at_hand(session: Session) -> tuple[str, ...]:
    """Return every title: those of the tunes to work on first, then by name."""
    from tunememory.library.overview import tune_rows  # noqa: PLC0415 - not needed to paint
    from tunememory.practice.work_list import tunes_to_practise  # noqa: PLC0415 - not needed to paint

    first = [item.tune.title for group in tunes_to_practise(session).groups for item in group.items]
    return tuple(dict.fromkeys((*first, *(row.tune.title for row in tune_rows(session)))))


class TitleSuggester(Suggester):
    """Offers titles as a line is typed; the right arrow takes what is offered.

    Args:
        titles: Those that are likelier first.
    """

    def __init__(self, titles: Sequence[str]) -> None:
        super().__init__(use_cache=False, case_sensitive=True)
        self._titles = titles

    async def get_suggestion(self, value: str) -> str | None:
        """Return the whole line with a title completed."""
        return title_completed(value, self._titles) or None


def _bare(title: str) -> str:
    """A title without a leading article."""
    first, _, rest = title.partition(" ")
    return rest if rest and first.casefold() in ARTICLES else title
