"""Help: the keys of the screen below from the bindings themselves, and what the words mean."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.containers import VerticalScroll

from tunememory.recall.check import NAME_WORDS, START_WORDS, Level
from tunememory.rounds.answer import FIND_SECONDS, KICK_OFF_SECONDS
from tunememory.ui.actions import app_keys, bind, keys_of
from tunememory.ui.canvas import LINES, SPACES
from tunememory.ui.screen import SessionScreen
from tunememory.ui.text import Span, broken, cell, width_of, wrapped
from tunememory.ui.widgets import Lines

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.app import ComposeResult
    from textual.binding import BindingType
    from textual.screen import Screen


KEYS = 12
"""Cells of the keys column."""

_MEANING = {
    Level.KICK_OFF: f"within {KICK_OFF_SECONDS:.0f} seconds, right key, no false start",
    Level.FIND: f"within {FIND_SECONDS:.0f} seconds, or one false start mended unaided",
    Level.JOIN_IN: "needed a hint, then it ran on",
    Level.SIT_OUT: "not even then",
}

_LEVELS_NOTE = (
    "Judge the first, cold try. A hint shown makes it 2 at most, so a hint costs no honesty."
)

_STAFF_NOTE = (
    "Every tune is a note head: on the top line it would be kicked off today, and it slides down "
    "as it fades. The four spaces are the states. A tune that would not come stands high for the "
    "rest of the day, for its notes were just seen; in a few days it shows what it is."
)

TYPED_STARTS = (
    ("abc: A2 FA DAFA", "ABC notation"),
    ("letters: a f a d", "the letters alone"),
    ("steps: 5 3 5 1 3 5", "steps of the scale"),
    ("fingers: A0 D2 E low 2", "string and finger"),
    ("frets: d2 a0 e 5", "string and fret"),
    ("u d r", "up, down, the same again: when no note is known"),
)
"""A start as it may be typed, and what that is."""

_STARTS_NOTE = (
    "The word in front may be left out for the form that the settings name. In a fingering L2 is "
    "low 2, H3 high 3, L4 its flat; E, is the lower of two E strings. [K:Em] or [M:9/8] in front "
    "gives a part its own key or metre."
)

CARE = (
    "Rest about five minutes after twenty-five, and stop when tired or hurting. Sound that is loud "
    "for long harms the ears: mute, or plug the near one. Calling a tune back in the head is "
    "practice too."
)
"""Pauses: Klickstein, The Musician's Way (Oxford University Press), p. 75. Ears: O'Brien, Driscoll
and Ackermann 2013, J. Acoust. Soc. Am. 134(4), 2748-2754."""


def help_lines(
    here: Sequence[tuple[str, str]],
    everywhere: Sequence[tuple[str, str]],
    file: str,
    width: int,
) -> list[list[Span]]:
    """Return the help.

    Args:
        here: ``(keys, sentence)`` of the screen it is about.
        everywhere: The same for keys that work on every screen.
        file: Where the repertoire is.
        width: Cells across.
    """
    lines: list[list[Span]] = [[("Keys here", "strong")], *_keys(here, width), []]
    lines += [[("Keys everywhere", "strong")], *_keys(everywhere, width), []]
    lines += [[("How it came", "strong")]]
    for level in sorted(Level, reverse=True):
        lines.append(
            [
                (f"  {int(level)}  ", "bright"),
                (START_WORDS[level], ""),
                (f"; for a name: {NAME_WORDS[level]}", "quiet"),
            ]
        )
        lines += wrapped(_MEANING[level], width, "quiet", indent=5)
    lines += wrapped(_LEVELS_NOTE, width, indent=2)
    lines += [[], [("The staff", "strong")]]
    lines += wrapped(_STAFF_NOTE, width, indent=2)
    for place in reversed(range(len(SPACES))):
        low, high = round(LINES[place] * 10), round(LINES[place + 1] * 10)
        name = SPACES[place]
        lines.append([("  ", ""), (cell(name, 8), name), (f"{low} to {high} in 10", "quiet")])
    lines += [[], [("A start is typed", "strong")]]
    for typed, what in TYPED_STARTS:
        first, *rest = broken(what, max(8, width - 26))
        lines.append([("  ", ""), (cell(typed, 24), "bright"), (first, "")])
        lines += [[(" " * 26, ""), (row, "")] for row in rest]
    lines += wrapped(_STARTS_NOTE, width, indent=2)
    lines += [[], [("A word of care", "strong")]]
    lines += wrapped(CARE, width, indent=2)
    lines += [[], [("Your tunes", "strong")]]
    lines += wrapped(file, width, "quiet", indent=2)
    return lines


def _keys(pairs: Sequence[tuple[str, str]], width: int) -> list[list[Span]]:
    lines: list[list[Span]] = []
    for keys, says in pairs:
        lead = f"  {keys}"
        if width_of(lead) >= KEYS:
            lines.append([(lead, "bright")])
            lead = ""
        for row in broken(says, max(8, width - KEYS)):
            lines.append([(cell(lead, KEYS), "bright"), (row, "")])
            lead = ""
    return lines


class HelpScreen(SessionScreen[None]):
    """What can be done on one screen.

    Args:
        about: The screen it was asked for on.
    """

    HEAD = "Help"
    OPENS_AREAS = False
    DEFAULT_CSS = """
    HelpScreen #page { margin: 1 1 0 2; height: 1fr; scrollbar-size-vertical: 1; }
    HelpScreen Lines { max-width: 96; margin-right: 1; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("escape,q,enter", "close", "back", "Go back", key="esc"),
        bind("down", "roll(1)", "further down", "Further down", key="↓"),
        bind("up", "roll(-1)", "up", "Back up", key="↑"),
        bind("pagedown,space", "page(1)", "", "A page down", shown=False),
        bind("pageup", "page(-1)", "", "A page up", shown=False),
    ]

    def __init__(self, about: Screen[object]) -> None:
        super().__init__()
        self.about = about

    def body(self) -> ComposeResult:
        """One page that scrolls."""
        with VerticalScroll(id="page", can_focus=False):
            yield Lines(self._draw)

    def _draw(self, width: int) -> list[list[Span]]:
        about = self.about
        name = about.HEAD if isinstance(about, SessionScreen) else ""
        self.head(left=f"Help · {name}" if name else "Help")
        return help_lines(keys_of(about), app_keys(self.app), str(self.session.path), width)

    def action_close(self) -> None:
        """Go back."""
        self.dismiss(None)

    def action_roll(self, lines: int) -> None:
        """Move by lines."""
        self.query_one("#page", VerticalScroll).scroll_relative(y=lines, animate=False)

    def action_page(self, pages: int) -> None:
        """Move by pages."""
        page = self.query_one("#page", VerticalScroll)
        page.scroll_relative(y=pages * max(1, page.size.height - 1), animate=False)
