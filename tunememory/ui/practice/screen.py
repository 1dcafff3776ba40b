"""Practice: a clock, what waits to be worked on, and the ways of working on it."""

from __future__ import annotations

from contextlib import suppress
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.containers import Container
from textual.widgets import Static

from tunememory.errors import NotDoneError
from tunememory.practice.sitting import (
    go_to_step,
    log_minutes,
    minutes_today,
    set_head_only,
    stop_for_pain,
)
from tunememory.practice.ways import (
    log_practice,
    material_of,
    sound_of_way,
    undo_practice,
    ways_of,
    write_way,
)
from tunememory.practice.work_list import tunes_to_practise
from tunememory.rounds.running import sitting_of
from tunememory.store.records import At
from tunememory.ui.actions import bind
from tunememory.ui.ear import HearingScreen
from tunememory.ui.practice.drawing import (
    LEAST_MINUTES,
    NOTHING_WAITS,
    at_hand_lines,
    elsewhere_words,
    file_name,
    material_lines,
    piece_words,
    sitting_words,
    way_spans,
    work_spans,
)
from tunememory.ui.practice.widgets import PracticeClock, Work, work_rows
from tunememory.ui.questions import AskLine, PickScreen
from tunememory.ui.text import lines, plain, say
from tunememory.ui.widgets.fields import expanded
from tunememory.ui.widgets.lists import LineList, Lines, RowList
from tunememory.ui.words import HEAD_ONLY, counted

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.binding import BindingType

    from tunememory.music.tune import Tune
    from tunememory.music.ways.material import Material
    from tunememory.practice.ways import WayView
    from tunememory.practice.work_list import WorkList
    from tunememory.ui.text import Span


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
            NotDoneError: The tune is gone.
        """
        self.hush()
        self._material, self._of = material_of(self.session, tune.uuid, way.id), (tune, way)
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
            self.hear(sound_of_way(self.session, tune.uuid, way.id, self._number))
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
        write_way(self.session, path, uuid, way)
        say(self.tune_app, f"Written to {path}.")


class PracticeLog(PracticeByEar):
    """The part of practice that is written down. Minutes are those since the last entry."""

    def __init__(self) -> None:
        super().__init__()
        self._clock = PracticeClock()
        self._logged: list[tuple[str, float]] = []
        self._left = False

    @property
    def tune_at_hand(self) -> Tune | None:
        """The tune that is worked on."""
        raise NotImplementedError

    @property
    def way_at_hand(self) -> WayView | None:
        """The way that is worked in; ``None`` when there is none."""
        raise NotImplementedError

    @property
    def in_ways(self) -> bool:
        """Whether one has gone on from the tune to its ways."""
        raise NotImplementedError

    def show_logged(self) -> None:
        """Show what is written down."""
        raise NotImplementedError

    @property
    def can_undo(self) -> bool:
        """Whether there is an entry of this practice to take back."""
        return bool(self._logged)

    def action_log(self) -> None:
        """Write down that the way was done."""
        way = self.way_at_hand
        if way is not None and way.possible:
            self._log(way)

    def action_words(self) -> None:
        """Ask what was done, in the player's own words; on a way it is logged with them."""
        tune, way = self.tune_at_hand, self.way_at_hand if self.in_ways else None
        if tune is not None:
            question = f"{way.name if way else tune.title}: what did you do?"
            keep = partial(self._log, way)
            self.app.push_screen(AskLine(question, keep, hint="in your own words"))

    def _log(self, way: WayView | None, words: str = "") -> None:
        tune = self.tune_at_hand
        if tune is None or (way is None and not words.strip()):
            return
        minutes = round(self._clock.stopwatch.untold_minutes, 2)
        with self.trying():
            entry = log_practice(
                self.session, tune.uuid, way.id if way else "", minutes, words=words
            )
            self._clock.stopwatch.tell()
            self._logged.append((entry.uuid, minutes))
            spent = f", {counted(round(minutes), 'minute')}" if minutes >= 0.75 else ""
            said = way.name if way else "in your words"
            say(self.tune_app, f"Logged: {said}, {tune.title}{spent}.")
            self.hush()
            self.show_logged()

    def action_undo(self) -> None:
        """Take the last logged way back; its minutes go on counting."""
        uuid, minutes = self._logged.pop()
        with self.trying():
            undo_practice(self.session, uuid)
            self._clock.stopwatch.take_back(minutes)
            say(self.tune_app, "Taken back.")
            self.show_logged()

    def keep_minutes(self) -> None:
        """Write down the minutes that no logged way took."""
        minutes = round(self._clock.stopwatch.untold_minutes, 2)
        if minutes >= LEAST_MINUTES:
            log_minutes(self.session, minutes)
            self._clock.stopwatch.tell()

    def stop_for_pain(self) -> None:
        """End the sitting now; the minutes are kept."""
        minutes = round(self._clock.stopwatch.untold_minutes, 2)
        stop_for_pain(self.session, minutes if minutes >= LEAST_MINUTES else 0.0)
        self._clock.stopwatch.tell()

    def leave(self) -> None:
        """Leave practice; nothing more is written down."""
        self._left = True
        self.dismiss(None)

    def on_unmount(self) -> None:
        """Keep the minutes also when the whole app ends."""
        if self.tune_app.session is not None and not self._left:
            with suppress(NotDoneError):
                self.keep_minutes()


PAUSE = "25 minutes: a good moment for a pause of five."


class PracticeStages(PracticeLog):
    """The clock over three stages, one gone to from the other; which one is a class of the screen.

    Args:
        tune: Identity of a tune to begin with, whatever the plan says.
    """

    def __init__(self, tune: str = "") -> None:
        super().__init__()
        self._begin_with = tune
        self._work: WorkList | None = None
        self._tuning = ""
        self._chosen: list[str] = []

    def body(self) -> ComposeResult:
        """The clock, the tune at hand, the two lists, and what a way brings."""
        yield self._clock
        yield Static(id="pause")
        yield Lines(id="hand")
        with Container(id="lists"):
            yield RowList(self._write_work, id="work")
            yield RowList(self._write_way, id="ways")
        yield Static(id="piece")
        yield LineList(id="material")
        yield Static(lines(*(plain(row) for row in NOTHING_WAITS)), id="none")

    def on_mount(self) -> None:
        """Begin in the list of tunes."""
        self._stage("work")

    # What is shown.

    @property
    def _tunes(self) -> RowList[Work]:
        return self.query_one("#work", RowList)

    @property
    def _ways(self) -> RowList[WayView]:
        return self.query_one("#ways", RowList)

    def _write_work(self, row: Work, width: int) -> list[Span]:
        return work_spans(row.group, row.item, width, first=row.first)

    def _write_way(self, row: WayView, width: int) -> list[Span]:
        return way_spans(row, self.session.day(), width)

    @property
    def _at_hand(self) -> Work | None:
        return self._tunes.current

    @property
    def tune_at_hand(self) -> Tune | None:
        """The tune under the cursor."""
        return self._at_hand.item.tune if self._at_hand else None

    @property
    def way_at_hand(self) -> WayView | None:
        """The way under the cursor: the one offered next until another is gone to."""
        return self._ways.current

    @property
    def in_ways(self) -> bool:
        """Whether one has gone on from the tune to its ways."""
        return self._where != "work"

    def show_logged(self) -> None:
        """Show the ways anew, and what was done today."""
        if self._where == "material":
            self._stage("ways")
        self._show_ways()
        self._show_sitting()

    def fill(self) -> None:
        """Show the list anew, the cursor on the tune it was on."""
        if self._left:
            return
        if sitting_of(self.session).step is not At.PRACTICE:
            go_to_step(self.session, At.PRACTICE)
        self._work = tunes_to_practise(self.session, self._tuning, self._chosen)
        here = self._at_hand
        rows = work_rows(self._work)
        place = next(
            (n for n, row in enumerate(rows) if here and row.item.tune.uuid == here.item.tune.uuid),
            0,
        )
        self._tunes.show(rows, place)
        self.set_class(not rows, "-nothing")
        self.head(right=elsewhere_words(self._work))
        self._show_ways()
        self._show_sitting()
        self.refresh_bindings()
        if self._begin_with:
            tune, self._begin_with = self._begin_with, ""
            self.take(tune)

    def _show_ways(self) -> None:
        """Show the ways of the tune at hand, the cursor on the one to offer."""
        here, work = self._at_hand, self._work
        if here is None or work is None:
            return
        self.query_one("#hand", Lines).show(
            lambda width: at_hand_lines(work, here.group, here.item, width)
        )
        with self.trying():
            ways = ways_of(self.session, here.item.tune.uuid)
            self._ways.show(ways, next((n for n, way in enumerate(ways) if way.next), 0))

    def _show_sitting(self) -> None:
        """Say behind the clock how the sitting is held and what was done today."""
        if self._work is not None:
            self._clock.said = sitting_words(
                self._work.tuning.letters,
                minutes_today(self.session),
                head_only=sitting_of(self.session).head_only,
            )

    @on(PracticeClock.PauseDue)
    def _pause_due(self) -> None:
        self.query_one("#pause", Static).update(plain(PAUSE))

    def take(self, uuid: str) -> None:
        """Put a tune on the list, whatever the plan says, and go to its ways."""
        with self.trying():
            tune = self.session.tune(uuid)
            self._tuning = (tune.tuning or self.session.settings.usual).letters
            self._chosen = [uuid, *(one for one in self._chosen if one != uuid)]
            self.fill()
            rows = self._tunes.rows
            self._tunes.cursor = next(n for n, row in enumerate(rows) if row.item.tune.uuid == uuid)
            self._stage("ways")

    def _stage(self, name: str) -> None:
        """Go to the list of tunes, of ways, or to what a way brings."""
        for stage in ("work", "ways", "material"):
            self.set_class(stage == name, f"-in-{stage}")
        self.query_one(f"#{name}").focus()
        self.refresh_bindings()

    @property
    def _where(self) -> str:
        return next(name for name in ("work", "ways", "material") if self.has_class(f"-in-{name}"))

    @on(RowList.Highlighted, "#work")
    def _other_tune(self) -> None:
        self._show_ways()


class PracticeScreen(PracticeStages):
    """The middle of a sitting. Minutes that belong to no tune are written down on leaving."""

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

    def on_key(self) -> None:
        """Any key takes the hint to pause away, and does what it does."""
        self.query_one("#pause", Static).update(plain(""))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer only what can be done now."""
        if not self._composed:
            return super().check_action(action, parameters)
        way, at = self._ways.current, self._where
        offered = {
            "further": self._work is None or bool(self._tunes.rows),
            "open_tune": self._at_hand is not None,
            "words": self._at_hand is not None,
            "log": way is not None and way.possible,
            "other": at == "work",
            "write": at == "material",
            "hear": at == "material" and self.heard_pieces > 0,
            "piece": at == "material" and self.heard_pieces > 1,
            "undo": self.can_undo,
        }
        return offered.get(action, super().check_action(action, parameters))

    @on(RowList.Chosen)
    def action_further(self) -> None:
        """From the tune to its ways, to what a way brings, to logging it."""
        if self._at_hand is None:
            return
        if self._where == "work":
            self._stage("ways")
        elif self._where == "ways":
            self._bring()
        else:
            self.action_log()

    def _bring(self) -> None:
        here, way = self._at_hand, self._ways.current
        if here is None or way is None:
            return
        with self.trying():
            self.bring(here.item.tune, way)
            self._stage("material")
            self.show_material()

    def action_turn(self) -> None:
        """Pause the clock or let it go on."""
        self._clock.stopwatch.turn()
        self._clock.tick()

    def action_head_only(self) -> None:
        """Switch between the instrument and the head alone; minutes are counted apart."""
        with self.trying():
            self.keep_minutes()
            set_head_only(self.session, on=not sitting_of(self.session).head_only)
            self._show_sitting()

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

    def action_back(self) -> None:
        """Back to the ways, to the tunes, to Today."""
        if self._where != "work":
            self.hush()
            self._stage("ways" if self._where == "material" else "work")
            return
        with self.trying():
            self.keep_minutes()
            self.leave()

    def action_finish(self) -> None:
        """On to the last round."""
        with self.trying():
            self.keep_minutes()
            go_to_step(self.session, At.LAST)
            self.leave()

    def action_pain(self) -> None:
        """End the sitting now."""
        with self.trying():
            self.stop_for_pain()
            self.leave()
            say(self.tune_app, "The sitting has ended; everything is kept.")
