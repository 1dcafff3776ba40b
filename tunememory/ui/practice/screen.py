"""Practice: a clock, what waits to be worked on, and the ways of working on it."""

from __future__ import annotations

from contextlib import suppress
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.containers import Container
from textual.widgets import Static

from tunememory.errors import NotDoneError
from tunememory.library.starts import sound_of_piece
from tunememory.practice.sitting import go_to_step, minutes_today, set_head_only
from tunememory.practice.ways import ways_of, write_way
from tunememory.practice.work_list import tunes_to_practise
from tunememory.rounds.running import sitting_of
from tunememory.store.records import At
from tunememory.ui.actions import HEAD_ONLY, bind
from tunememory.ui.practice.clock import PracticeClock, PracticeLog
from tunememory.ui.practice.drawing import (
    NOTHING_WAITS,
    at_hand_lines,
    elsewhere_words,
    file_name,
    material_lines,
    piece_words,
    sitting_words,
    way_spans,
    work_rows,
    work_spans,
)
from tunememory.ui.questions import AskLine, PickScreen
from tunememory.ui.screen import HearingScreen
from tunememory.ui.text import lines, plain, say
from tunememory.ui.widgets import LineList, Lines, RowList, expanded
from tunememory.words import minutes_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.app import ComposeResult
    from textual.binding import BindingType

    from tunememory.music.ways.material import Piece
    from tunememory.practice.ways import TuneWay
    from tunememory.practice.work_list import WorkList
    from tunememory.ui.practice.drawing import WorkRow
    from tunememory.ui.text import Span


STAGES = ("work", "ways", "material")

PAUSE = "25 minutes: a good moment for a pause of five."


class PracticeScreen(HearingScreen[None]):
    """The middle of a sitting: the clock over three stages, one gone to from the other.

    The stages are the tunes (``work``), the ways of the tune at hand (``ways``) and what a way
    brings (``material``); which one is a class of the screen. Minutes that belong to no tune are
    written down on leaving.

    Args:
        tune: Identity of a tune to begin with, whatever the plan says.
    """

    HEAD = "Practice"
    CSS = """
    PracticeScreen PracticeClock { height: 2; padding: 1 2 0 2; }
    PracticeScreen #pause { height: 1; padding: 0 2; color: $accent; }
    PracticeScreen #lists { layout: horizontal; height: 1fr; padding-top: 1; }
    PracticeScreen #work { width: 1fr; height: 1fr; }
    PracticeScreen #ways { width: 1fr; height: 1fr; margin-right: 1; }
    PracticeScreen #hand { padding: 0 2; }
    PracticeScreen #material, PracticeScreen #piece { display: none; }
    PracticeScreen #piece { height: 3; padding: 1 2; color: $accent; }
    PracticeScreen #none { display: none; height: 1fr; padding: 1 2; color: $quiet; }

    PracticeScreen.-narrow #lists { layout: vertical; }
    PracticeScreen.-narrow #work { width: 100%; height: auto; max-height: 8; }
    PracticeScreen.-narrow #ways { width: 100%; margin: 0; }
    PracticeScreen.-narrow.-in-ways #work { display: none; }
    PracticeScreen.-narrow.-in-work #ways { display: none; }
    PracticeScreen.-narrow.-in-work #work { max-height: 100%; height: 1fr; }
    PracticeScreen.-short #lists { padding: 0; }
    PracticeScreen.-short PracticeClock { height: 1; padding: 0 2; }
    PracticeScreen.-short #piece { height: 1; padding: 0 2; }

    PracticeScreen.-in-material #lists { display: none; }
    PracticeScreen.-in-material #material, PracticeScreen.-in-material #piece { display: block; }
    PracticeScreen.-nothing #lists, PracticeScreen.-nothing #hand { display: none; }
    PracticeScreen.-nothing #none { display: block; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter", "further", "go on", "Go to its ways, then to what a way brings, then log it"),
        bind("l", "log", "log", "Log this way: it was done"),
        bind("x", "pain", "it hurts", "Stop because it hurts: the sitting ends, all is kept"),
        bind("p", "hear", "hear", "Hear what the way brings, or stop it"),
        bind("right", "piece(1)", "", "The next piece to hear", shown=False, key="→"),
        bind("left", "piece(-1)", "", "The piece before", shown=False, key="←"),
        bind("w", "write", "write", "Write what the way brings to a file: .html to print, .txt"),
        bind("t", "other", "other tune", "Work on another tune that does not wait here"),
        bind("space", "turn", "pause", "Pause the clock, or let it go on", key="space"),
        bind("f", "finish", "finish", "Finish practice: on to the last round"),
        bind("e", "head_only", "head only", HEAD_ONLY),
        bind("n", "words", "own words", "Log it in your own words", shown=False),
        bind("u", "undo", "undo", "Take the last logged way back", shown=False),
        bind("o", "open_tune", "tune", "Open the page of the tune at hand", shown=False),
        bind("escape", "back", "back", "Go back; the sitting goes on later", key="esc"),
    ]

    def __init__(self, tune: str = "") -> None:
        super().__init__()
        self._clock = PracticeClock()
        self._log = PracticeLog(self._clock.stopwatch)
        self._begin_with = tune
        self._work: WorkList | None = None
        self._tuning = ""
        self._chosen: list[str] = []
        self._way: TuneWay | None = None
        """The way whose material is shown, or was shown last."""
        self._piece = 0
        self._left = False

    def body(self) -> ComposeResult:
        """The clock, the tune at hand, the two lists, and what a way brings."""
        yield self._clock
        yield Static(id="pause")
        yield Lines(id="hand")
        with Container(id="lists"):
            yield RowList(work_spans, id="work")
            yield RowList(self._way_row, id="ways")
        yield Static(id="piece")
        yield LineList(id="material")
        yield Static(lines(*(plain(row) for row in NOTHING_WAITS)), id="none")

    def on_mount(self) -> None:
        """Begin in the list of tunes."""
        self._go_to("work")

    def on_key(self) -> None:
        """Any key takes the hint to pause away, and does what it does."""
        self.query_one("#pause", Static).update(plain(""))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer only what can be done now."""
        if not self._composed:
            return super().check_action(action, parameters)
        way, stage = self._ways.current, self._stage
        pieces = len(self._pieces) if stage == "material" else 0
        offered = {
            "further": self._work is None or bool(self._tunes.rows),
            "open_tune": self._at_hand is not None,
            "words": self._at_hand is not None,
            "log": way is not None and way.material.possible,
            "other": stage == "work",
            "write": stage == "material",
            "hear": pieces > 0,
            "piece": pieces > 1,
            "undo": self._log.can_undo,
        }
        return offered.get(action, super().check_action(action, parameters))

    # Stages.

    @property
    def _tunes(self) -> RowList[WorkRow]:
        return self.query_one("#work", RowList)

    @property
    def _ways(self) -> RowList[TuneWay]:
        return self.query_one("#ways", RowList)

    @property
    def _at_hand(self) -> WorkRow | None:
        return self._tunes.current

    @property
    def _stage(self) -> str:
        return next(name for name in STAGES if self.has_class(f"-in-{name}"))

    def _go_to(self, stage: str) -> None:
        for name in STAGES:
            self.set_class(name == stage, f"-in-{name}")
        self.query_one(f"#{stage}").focus()
        self.refresh_bindings()

    @on(RowList.Chosen)
    def action_further(self) -> None:
        """From the tune to its ways, to what a way brings, to logging it."""
        if self._at_hand is None:
            return
        if self._stage == "work":
            self._go_to("ways")
        elif self._stage == "material":
            self.action_log()
        elif self._ways.current is not None:
            self._show_material(self._ways.current)

    def action_back(self) -> None:
        """Back to the ways, to the tunes, to Today."""
        if self._stage != "work":
            self.hush()
            self._go_to("ways" if self._stage == "material" else "work")
            return
        with self.trying():
            self._log.add_rest(self.session)
            self._leave()

    def action_finish(self) -> None:
        """On to the last round."""
        with self.trying():
            self._log.add_rest(self.session)
            go_to_step(self.session, At.LAST)
            self._leave()

    def action_pain(self) -> None:
        """End the sitting now."""
        with self.trying():
            self._log.stop_for_pain(self.session)
            self._leave()
            say(self.tune_app, "The sitting has ended; everything is kept.")

    def _leave(self) -> None:
        """Leave practice; nothing more is written down."""
        self._left = True
        self.dismiss(None)

    def on_unmount(self) -> None:
        """Keep the minutes also when the whole app ends."""
        if self.tune_app.session is not None and not self._left:
            with suppress(NotDoneError):
                self._log.add_rest(self.session)

    # The clock.

    @on(PracticeClock.PauseDue)
    def _pause_due(self) -> None:
        self.query_one("#pause", Static).update(plain(PAUSE))

    def action_turn(self) -> None:
        """Pause the clock or let it go on."""
        self._clock.stopwatch.turn()
        self._clock.tick()

    def action_head_only(self) -> None:
        """Switch between the instrument and the head alone; minutes are counted apart."""
        with self.trying():
            self._log.add_rest(self.session)
            set_head_only(self.session, on=not sitting_of(self.session).head_only)
            self._show_sitting()

    def _show_sitting(self) -> None:
        """Say behind the clock how the sitting is held and what was done today."""
        if self._work is not None:
            self._clock.said = sitting_words(
                self._work.tuning.letters,
                minutes_today(self.session),
                head_only=sitting_of(self.session).head_only,
            )

    # The tunes and their ways.

    def fill(self) -> None:
        """Show the list anew, the cursor on the tune it was on."""
        if self._left:
            return
        if sitting_of(self.session).step is not At.PRACTICE:
            go_to_step(self.session, At.PRACTICE)
        self._work = tunes_to_practise(self.session, self._tuning, self._chosen)
        here = self._at_hand
        rows = work_rows(self._work)
        self._tunes.show(rows, _place_of(rows, here.item.tune.uuid) if here else 0)
        self.set_class(not rows, "-nothing")
        self.head(right=elsewhere_words(self._work))
        self._show_ways()
        self._show_sitting()
        self.refresh_bindings()
        if self._begin_with:
            tune, self._begin_with = self._begin_with, ""
            self.take(tune)

    def _way_row(self, row: TuneWay, width: int) -> list[Span]:
        return way_spans(row, self.session.day(), width)

    @on(RowList.Highlighted, "#work")
    def _show_ways(self) -> None:
        """Show the ways of the tune at hand, the cursor on the one to offer."""
        here, work = self._at_hand, self._work
        if here is None or work is None:
            return
        self.query_one("#hand", Lines).show(lambda width: at_hand_lines(here, work.tuning, width))
        with self.trying():
            ways = ways_of(self.session, here.item.tune.uuid)
            self._ways.show(ways, next((n for n, way in enumerate(ways) if way.next), 0))

    def take(self, uuid: str) -> None:
        """Put a tune on the list, whatever the plan says, and go to its ways."""
        with self.trying():
            tune = self.session.tune(uuid)
            self._tuning = (tune.tuning or self.session.settings.usual).letters
            self._chosen = [uuid, *(one for one in self._chosen if one != uuid)]
            self.fill()
            self._tunes.cursor = _place_of(self._tunes.rows, uuid)
            self._go_to("ways")

    def action_other(self) -> None:
        """Pick another tune to work on."""
        self.app.push_screen(PickScreen("Which tune would you like to work on?"), self._picked)

    def _picked(self, tunes: tuple[str, ...] | None) -> None:
        if tunes:
            self.take(tunes[0])

    def action_open_tune(self) -> None:
        """Open the page of the tune at hand."""
        if self._at_hand is not None:
            self.tune_app.open_tune(self._at_hand.item.tune.uuid)

    # What is logged.

    def action_log(self) -> None:
        """Write down that the way was done."""
        way = self._ways.current
        if way is not None and way.material.possible:
            self._log_way(way)

    def action_words(self) -> None:
        """Ask what was done, in the player's own words; on a way it is logged with them."""
        if self._at_hand is not None:
            way = self._ways.current if self._stage != "work" else None
            name = way.way.name if way else self._at_hand.item.tune.title
            ask = AskLine(f"{name}: what did you do?", partial(self._log_way, way),
                          hint="in your own words")  # fmt: skip
            self.app.push_screen(ask)

    def _log_way(self, way: TuneWay | None, words: str = "") -> None:
        if self._at_hand is None or (way is None and not words.strip()):
            return
        tune = self._at_hand.item.tune
        with self.trying():
            entry = self._log.add(self.session, tune, way.way.id if way else "", words)
            minutes = minutes_words(entry.minutes)
            done = ", ".join(filter(None, (way.way.name if way else "in your words", tune.title,
                                           minutes)))  # fmt: skip
            say(self.tune_app, f"Logged: {done}.")
            self.hush()
            self._show_logged()

    def action_undo(self) -> None:
        """Take the last logged way back; its minutes go on counting."""
        with self.trying():
            self._log.undo(self.session)
            say(self.tune_app, "Taken back.")
            self._show_logged()

    def _show_logged(self) -> None:
        """Show the ways anew, and what was done today."""
        if self._stage == "material":
            self._go_to("ways")
        self._show_ways()
        self._show_sitting()

    # What a way brings, and what of it can be heard.

    def _show_material(self, way: TuneWay) -> None:
        """Show what a way brings; what was heard of another one stops."""
        self.hush()
        self._way, self._piece = way, 0
        self._go_to("material")
        width = max(20, self.size.width - 6)
        self.query_one("#material", LineList).show(tuple(material_lines(way, width)))
        self._show_piece()

    @property
    def _pieces(self) -> tuple[Piece, ...]:
        return self._way.material.pieces if self._way else ()

    @on(HearingScreen.SoundOver)
    def _show_piece(self) -> None:
        pieces = self._pieces
        said = piece_words(pieces, self._piece, sounds=self.sounds) if pieces else ""
        self.query_one("#piece", Static).update(plain(said))
        self.refresh_bindings()

    def action_hear(self) -> None:
        """Hear the piece, or stop it."""
        if self.sounds:
            self.hush()
        else:
            self._hear_piece()
        self._show_piece()

    def action_piece(self, step: int) -> None:
        """Go to another piece; what is heard goes on with it."""
        if self._pieces:
            self._piece = (self._piece + step) % len(self._pieces)
            if self.sounds:
                self._hear_piece()
            self._show_piece()

    def _hear_piece(self) -> None:
        if self._way is not None and self._pieces:
            with self.trying():
                piece = self._pieces[self._piece]
                self.hear(sound_of_piece(piece, self._way.tune, self.session.settings))

    def action_write(self) -> None:
        """Ask for a path and write what the way brings there."""
        if self._way is not None:
            tune, way = self._way.tune, self._way.way.id
            ask = AskLine("Write this to", partial(self._write, tune.uuid, way),
                          file_name(tune.title, way),
                          "a .html file for the printer, or .txt")  # fmt: skip
            self.app.push_screen(ask)

    def _write(self, uuid: str, way: str, typed: str) -> None:
        path = expanded(typed.strip()).absolute()
        write_way(self.session, path, uuid, way)
        say(self.tune_app, f"Written to {path}.")


def _place_of(rows: Sequence[WorkRow], uuid: str) -> int:
    """Which row a tune stands in; the first where it is on none."""
    return next((place for place, row in enumerate(rows) if row.item.tune.uuid == uuid), 0)
