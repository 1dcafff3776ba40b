"""What a way of working on a tune brings: on the screen, to the ear, on paper."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from textual import on
from textual.widgets import Static

from tunememory.ui.drawing_practice import file_name, material_lines, piece_words
from tunememory.ui.hearing import HearingScreen
from tunememory.ui.paths import expanded
from tunememory.ui.screens.ask_line import AskLine
from tunememory.ui.text import plain, say
from tunememory.ui.widgets.line_list import LineList

if TYPE_CHECKING:
    from tunememory.service.day_views import WayView
    from tunememory.tunes.tune import Tune
    from tunememory.ways.material import Material


class PracticeByEar(HearingScreen[None]):
    """The part of practice that has to do with what a way brings.

    Holds ``#piece``, the line that names what can be heard, and ``#material``, the lines.
    """

    _material: Material | None = None
    _of: tuple[Tune, WayView] | None = None
    _number = 0

    def bring(self, tune: Tune, way: WayView) -> None:
        """Make what a way brings for a tune; what was heard of another one stops.

        Raises:
            ServiceError: The tune is gone.
        """
        self.hush()
        self._material, self._of = self.desk.material(tune.uuid, way.id), (tune, way)
        self._number = 0

    def show_material(self) -> None:
        """Write what was brought."""
        if self._material is None or self._of is None:
            return
        width = max(20, self.size.width - 6)
        rows = self.query_one("#material", LineList)
        rows.show(tuple(material_lines(self._material, self._of[1], width)))
        self._show_piece()

    def _show_piece(self) -> None:
        pieces = self._material.pieces if self._material else ()
        said = piece_words(pieces, self._number, sounds=self.sounds) if pieces else ""
        self.query_one("#piece", Static).update(plain(said))
        self.refresh_bindings()

    @property
    def heard_pieces(self) -> int:
        """How many pieces there are to be heard."""
        return len(self._material.pieces) if self._material else 0

    def action_hear(self) -> None:
        """Hear the piece, or stop it."""
        if self.sounds:
            self.hush()
            self._show_piece()
        else:
            self._hear_piece()

    def action_piece(self, step: int) -> None:
        """Go to another piece; what is heard goes on with it."""
        if self.heard_pieces:
            self._number = (self._number + step) % self.heard_pieces
            if self.sounds:
                self._hear_piece()
            else:
                self._show_piece()

    def _hear_piece(self) -> None:
        if self._of is None:
            return
        tune, way = self._of
        with self.trying():
            self.hear(self.desk.sound_of_way(tune.uuid, way.id, self._number))
        self._show_piece()

    @on(HearingScreen.SoundOver)
    def _sound_over(self) -> None:
        self._show_piece()

    def action_write(self) -> None:
        """Ask for a path and write what the way brings there."""
        if self._of is not None:
            tune, way = self._of
            name = file_name(tune.title, way.id)
            ask = AskLine("Write this to", partial(self._write, tune.uuid, way.id), name,
                          "a .html file for the printer, or .txt")  # fmt: skip
            self.app.push_screen(ask)

    def _write(self, uuid: str, way: str, typed: str) -> None:
        path = expanded(typed.strip()).absolute()
        self.desk.write_way(path, uuid, way)
        say(self.tune_app, f"Written to {path}.")
