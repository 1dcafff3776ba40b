"""Lists drawn line by line, of which only what is seen is laid out, and the fields of forms."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar, Generic, TypeAlias, TypeVar

from rich.segment import Segment
from rich.style import Style
from textual.binding import Binding, BindingType
from textual.color import Color
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.geometry import Region, Size
from textual.message import Message
from textual.reactive import reactive
from textual.scroll_view import ScrollView
from textual.strip import Strip
from textual.suggester import Suggester, SuggestFromList
from textual.widget import Widget
from textual.widgets import Input, Static

from tunememory.text import ARTICLES
from tunememory.ui.actions import bind
from tunememory.ui.text import Span, bare, inked, plain, style_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual import events
    from textual.app import App, ComposeResult

    from tunememory.session import Session


Row = TypeVar("Row")

Write: TypeAlias = Callable[[Row, int], "Sequence[Span]"]
"""Gives a row as spans that fit into a width in cells."""

HERE = "▸ "
"""Stands before the row the cursor is on; colour is not the only sign of it."""


class RowMessage(Message):
    """Something happened to the row the cursor is on."""

    def __init__(self, rows: RowList[Any]) -> None:
        super().__init__()
        self._rows = rows

    @property
    def control(self) -> RowList[Any]:
        """The list, for ``@on`` selectors."""
        return self._rows


class RowList(ScrollView, Generic[Row], can_focus=True, inherit_bindings=False):
    """Rows of any kind, one line each, with a cursor.

    The rows are an immutable tuple that is replaced as a whole. Five thousand rows cost no more
    to show than fifty, since a line is laid out when it is painted.

    Args:
        write: Gives a row as pieces of text that together take at most the width, in cells.
    """

    DEFAULT_CSS = """
    RowList {
        height: 1fr;
        overflow-x: hidden;
        overflow-y: auto;
        scrollbar-size-vertical: 1;
        scrollbar-gutter: stable;
    }
    RowList > .row--cursor { background: $raised; }
    RowList:focus > .row--cursor { background: $mark-bg; text-style: bold; }
    """
    COMPONENT_CLASSES: ClassVar[set[str]] = {"row--cursor"}
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up,k", "move(-1)", "Up", show=False),
        Binding("down,j", "move(1)", "Down", show=False),
        Binding("pageup", "page(-1)", "Page up", show=False),
        Binding("pagedown", "page(1)", "Page down", show=False),
        Binding("home", "go(0)", "First", show=False),
        Binding("end", "go(-1)", "Last", show=False),
    ]

    cursor: reactive[int] = reactive(0, init=False, repaint=False)

    class Highlighted(RowMessage):
        """The cursor came to another row."""

    class Chosen(RowMessage):
        """A second click on a row. What Enter does is the screen's to say, in its own words."""

    def __init__(self, write: Write[Row], *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self._write = write
        self._rows: tuple[Row, ...] = ()

    # The rows.

    @property
    def rows(self) -> tuple[Row, ...]:
        """What is in the list now."""
        return self._rows

    def show(self, rows: tuple[Row, ...], cursor: int = 0) -> None:
        """Replace the rows and put the cursor on row ``cursor``."""
        self._rows = rows
        self.virtual_size = Size(0, len(rows))
        self.set_reactive(RowList.cursor, self._within(cursor))
        self._keep_cursor_in_sight()
        self.refresh()

    def renew(self, rows: tuple[Row, ...], key: Callable[[Row], object]) -> None:
        """Replace the rows; the cursor stays on the one of the same ``key``, or goes to the top."""
        here = None if self.current is None else key(self.current)
        self.show(rows, next((n for n, row in enumerate(rows) if key(row) == here), 0))

    @property
    def current(self) -> Row | None:
        """The row under the cursor, or ``None`` in an empty list."""
        return self._rows[self.cursor] if self._rows else None

    def _within(self, index: int) -> int:
        return max(0, min(index, len(self._rows) - 1))

    # Moving.

    def validate_cursor(self, index: int) -> int:
        """Keep the cursor on a row."""
        return self._within(index)

    def watch_cursor(self, before: int, now: int) -> None:
        """Repaint the two rows concerned and tell the screen."""
        self.refresh_line(before)
        self.refresh_line(now)
        self._keep_cursor_in_sight()
        if self._rows:
            self.post_message(self.Highlighted(self))

    def on_resize(self) -> None:
        """A smaller window must not hide the cursor."""
        self._keep_cursor_in_sight()

    def _keep_cursor_in_sight(self) -> None:
        if self.size.height:
            self.scroll_to_region(
                Region(0, self.cursor, 1, 1), animate=False, force=True, immediate=True
            )

    def action_move(self, rows: int) -> None:
        """Move the cursor by ``rows``."""
        self.cursor += rows

    def action_page(self, pages: int) -> None:
        """Move the cursor by whole pages."""
        self.cursor += pages * max(1, self.size.height - 1)

    def move(self, rows: int = 0, pages: int = 0) -> None:
        """Move the cursor, as told by a line that is typed in."""
        self.action_move(rows)
        self.action_page(pages)

    def action_go(self, index: int) -> None:
        """Go to the first (0) or last (-1) row."""
        self.cursor = index if index >= 0 else len(self._rows) + index

    def is_marked(self, index: int) -> bool:
        """Whether a row is shown as the one the cursor is on."""
        return index == self.cursor

    def on_click(self, event: events.Click) -> None:
        """Go to the row clicked; a click on the row already gone to chooses it."""
        index = event.y + self.scroll_offset.y
        if event.style.meta.get("scrollbar") or not 0 <= index < len(self._rows):
            return
        if index == self.cursor and event.chain > 1:
            self.post_message(self.Chosen(self))
        else:
            self.cursor = index

    # Painting.

    def render_line(self, y: int) -> Strip:
        """Lay out one line of the part in sight."""
        width = self.scrollable_content_region.width
        index = y + self.scroll_offset.y
        plain = self.rich_style
        if not 0 <= index < len(self._rows):
            return Strip.blank(width, plain)
        here = self.is_marked(index)
        ground = self.get_component_rich_style("row--cursor", partial=True) if here else None
        mark = HERE if here else "  "
        segments = [Segment(mark, _over(plain, ground))]
        for text, role in self._write(self._rows[index], max(0, width - len(mark))):
            segments.append(Segment(text, _over(plain + ink(self.app, role), ground)))
        return Strip(segments).adjust_cell_length(width, _over(plain, ground))


def _over(style: Style, ground: Style | None) -> Style:
    return style + ground if ground is not None else style


class LineList(RowList[list[Span]]):
    """Lines as they are. The cursor is the first line in sight, so that every move scrolls."""

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(lambda row, _width: row, id=id)

    def is_marked(self, index: int) -> bool:
        """No line is more than another."""
        return False

    def on_click(self, event: events.Click) -> None:
        """A line is not for choosing."""
        event.prevent_default()

    def _within(self, index: int) -> int:
        """The last page is as far as it goes."""
        return max(0, min(index, len(self.rows) - max(1, self.size.height)))

    def _keep_cursor_in_sight(self) -> None:
        if self.size.height:
            self.scroll_to(y=self._within(self.cursor), animate=False, force=True, immediate=True)


Drawing: TypeAlias = Callable[[int], list[list[Span]]]
"""Gives lines of spans for a width in cells."""


class Lines(Widget):
    """A picture or a page of text drawn by a pure function of the width."""

    DEFAULT_CSS = "Lines { height: auto; width: 1fr; text-wrap: nowrap; }"

    def __init__(self, draw: Drawing | None = None, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self._draw: Drawing = draw or (lambda _width: [])
        self._drawn: tuple[int, list[list[Span]]] | None = None

    def show(self, draw: Drawing) -> None:
        """Show another drawing."""
        self._draw = draw
        self._drawn = None
        self.refresh(layout=True)

    def _lines(self, width: int) -> list[list[Span]]:
        if self._drawn is None or self._drawn[0] != width:
            self._drawn = (width, self._draw(width))
        return self._drawn[1]

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """As many lines as the drawing has at this width."""
        return len(self._lines(width))

    def render(self) -> Content:
        """Give the drawing."""
        return inked(self._lines(self.size.width))


class Sheet(Widget):
    """Rows of ``(text, role)`` spans.

    Drawn line by line, without a layout of its own, so that the time from a key to the picture is
    that of the few lines a key changes.
    """

    DEFAULT_CSS = "Sheet { height: 1fr; }"

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self._rows: Sequence[Sequence[Span]] = ()
        self._plain = Style()

    def show(self, rows: Sequence[Sequence[Span]]) -> None:
        """Replace the rows; those that stay as they are are not painted again."""
        before, self._rows = self._rows, rows
        width = self.size.width
        changed = [
            Region(0, y, width, 1)
            for y in range(min(self.size.height, max(len(before), len(rows))))
            if (before[y] if y < len(before) else ()) != (rows[y] if y < len(rows) else ())
        ]
        if changed:
            self.refresh(*changed)

    def render_lines(self, crop: Region) -> list[Strip]:
        """Lay out the rows that are asked for."""
        self._plain = self.rich_style
        return super().render_lines(crop)

    def render_line(self, y: int) -> Strip:
        """Lay out one row."""
        width = self.size.width
        plain = self._plain
        row = self._rows[y] if y < len(self._rows) else ()
        segments = [Segment(bare(text), plain + ink(self.app, role)) for text, role in row if text]
        return Strip(segments).adjust_cell_length(width, plain)


def ink(app: App[Any], role: str) -> Style:
    """Return how a role is painted: in a colour of the theme, bold, or both.

    Worked out here and not by style rules, which every list would have to match anew.
    """
    words = style_of(role).split()
    colour = next((word[1:] for word in words if word.startswith("$")), "")
    return _ink(app.theme_variables[colour] if colour else "", bold="bold" in words)


@lru_cache(maxsize=64)
def _ink(colour: str, *, bold: bool) -> Style:
    return Style(color=Color.parse(colour).rich_color if colour else None, bold=bold or None)


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
