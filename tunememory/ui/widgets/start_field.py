"""The field of a start, with its notes in every form beneath it as they are typed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.widgets import Input

from tunememory.ui.drawing_start import FORMS, start_lines
from tunememory.ui.widgets.field import Field
from tunememory.ui.widgets.lines import Lines

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from tunememory.service.views import StartView
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
