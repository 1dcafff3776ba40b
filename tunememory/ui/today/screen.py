"""Today: what waits, the sitting, what fades, and the whole repertoire at a look."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual.containers import Container
from textual.widgets import Static

from tunememory.errors import NotDoneError
from tunememory.recall.check import RoundKind
from tunememory.store.records import At
from tunememory.ui.actions import HEAD_ONLY, SET, bind
from tunememory.ui.screen import SessionScreen
from tunememory.ui.text import joined, plain, say
from tunememory.ui.today.widgets import Fading, StaffPicture, Steps
from tunememory.words import ago, weekday_words

if TYPE_CHECKING:
    from datetime import date

    from textual.app import ComposeResult
    from textual.binding import BindingType

    from tunememory.practice.today import TodayView
    from tunememory.rounds.planning import RoundWish


EMPTY = "No tunes yet. Press n to add one, i to bring in a book."

COMING_BACK_MINUTES = 5
"""Minutes offered to a player who was away for long (common practice, no source)."""

MOST_MINUTES = 120
"""Of one round; a plan holds no more."""


class TodayScreen(SessionScreen[None]):
    """The first screen."""

    HEAD = "Today"
    DEFAULT_CSS = """
    TodayScreen #note, TodayScreen #sitting, TodayScreen StaffPicture { max-width: 128; }
    TodayScreen #pick-up { height: auto; max-height: 2; margin: 1 2 0 2; display: none; }
    TodayScreen.-picks-up #pick-up { display: block; }
    TodayScreen #note { height: auto; max-height: 2; margin: 1 2 0 2; color: $accent; }
    TodayScreen.-picks-up #note { margin: 0 2; }
    TodayScreen #sitting { layout: horizontal; height: 6; margin: 1 2 0 0; }
    TodayScreen Steps { width: 42; margin-top: 1; }
    TodayScreen Fading { width: 1fr; }
    TodayScreen StaffPicture { margin: 1 2 0 0; }

    TodayScreen.-narrow #sitting { layout: vertical; height: 8; }
    TodayScreen.-narrow Steps { width: 100%; margin: 0; }
    TodayScreen.-narrow Fading { margin: 1 0 0 2; height: 4; }
    TodayScreen.-short #note, TodayScreen.-short #pick-up { margin: 0 2 0 2; height: 1; }
    TodayScreen.-short #note, TodayScreen.-short #pick-up {
        text-wrap: nowrap; text-overflow: ellipsis;
    }
    TodayScreen.-short StaffPicture { margin: 0 2 0 0; }
    TodayScreen.-short.-low Fading { display: none; }
    TodayScreen.-short.-low #sitting { height: 3; }

    TodayScreen.-wide Steps { width: 60; }
    TodayScreen.-tall StaffPicture { margin: 2 2 1 0; }
    TodayScreen.-tall.-narrow #sitting { height: 10; }
    TodayScreen.-tall.-narrow Fading { height: 6; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter,space", "begin", "begin", "Begin the marked step of the day", key="enter"),
        bind("up", "mark(-1)", "", "Mark the step before", shown=False),
        bind("down", "mark(1)", "", "Mark the next step", shown=False),
        bind("m", "app.open('tunes')", "my tunes", "Go to My tunes"),
        bind("slash", "app.open('find')", "find", "Find a tune by name or by notes", key="/"),
        bind("p", "practice", "practice", "Go to practice"),
        bind("j", "app.open('journal')", "journal", "Go to the journal"),
        bind("d", "app.open('dates')", "dates", "Go to the dates"),
        bind("o", "app.open('tonight')", "tonight", "Ask what to start tonight"),
        bind("f", "app.open('fading')", "fading", "Go to what is fading"),
        bind("n", "app.open('edit')", "new tune", "Add a tune"),
        bind("q", "app.quit", "quit", "Leave; everything is kept"),
        bind("c", "close_day", "close the day", "Close the day with a line for the next time",
             shown=False),
        bind("s", "app.open('sets')", f"{SET}s", f"Go to the {SET}s", shown=False),
        bind("k", "app.open('card')", "card", "Go to the card for the case", shown=False),
        bind("h", "app.open('heard')", "heard", "Write down what was heard tonight", shown=False),
        bind("u", "app.open('pupils')", "pupils", "Go to the pupils", shown=False),
        bind("l", "loose", "loose round", "Begin a loose round, any time", shown=False),
        bind("t", "retune", "tuning", "Say that the instrument is in another tuning", shown=False),
        bind("i", "app.open('import')", "import", "Bring in a tune book", shown=False),
        bind("e", "head_only", "head only", HEAD_ONLY, shown=False),
        bind("comma", "app.open('settings')", "settings", "Go to Settings", shown=False, key=","),
    ]  # fmt: skip

    def __init__(self) -> None:
        super().__init__()
        self._pick_up = Static(id="pick-up")
        self._note = Static(id="note")
        self._steps = Steps()
        self._beside = Fading()
        self._staff = StaffPicture()

    def body(self) -> ComposeResult:
        """What is known already stands in them when they are first laid out; the rest is empty."""
        first = self.tune_app.first
        if first is not None and first.pick_up is not None and self.tune_app.session is None:
            self._put_pick_up(first.pick_up[1], first.pick_up[0], first.day)
        yield self._pick_up
        yield self._note
        with Container(id="sitting"):
            yield self._steps
            yield self._beside
        yield self._staff

    def on_mount(self) -> None:
        """Look now and then whether a new day has begun."""
        self.set_interval(60, self._new_day)

    def _new_day(self) -> None:
        view = self._steps.view
        if view is not None and self.session.day() != view.day and self.is_current:
            self.refill()

    def fill(self) -> None:
        """Work out the day and show it."""
        from tunememory.practice.today import today_view  # noqa: PLC0415 - not needed to paint

        view = today_view(self.session)
        self._name_day(view.day)
        self._put(view)

    def _name_day(self, day: date) -> None:
        self.head(right=weekday_words(day, year=False))

    def _put(self, view: TodayView) -> None:
        self._put_pick_up(view.pick_up, view.pick_up_day, view.day)
        self._note.update(plain(view.note if view.tunes else EMPTY))
        self._steps.show(view)
        self._beside.coming = view.coming
        # Who comes back after a long time is not met with what has faded meanwhile, or how much.
        self._beside.fading = view.fading if view.tunes and not view.coming_back else None
        self._staff.show(view.tunes, {} if view.coming_back else dict(view.counts))

    def _put_pick_up(self, text: str, day: date | None, today: date) -> None:
        """Put the line of the last day that has one before everything else."""
        self.set_class(bool(text), "-picks-up", update=self.is_mounted)
        when = ago(day, today).capitalize()
        self._pick_up.update(joined((f"{when}: ", "$quiet"), (text, "bold")))

    def action_mark(self, steps: int) -> None:
        """Mark the step that Enter begins."""
        self._steps.move(steps)

    def action_begin(self) -> None:
        """Begin the marked step."""
        step = self._steps.marked
        if step is At.PRACTICE:
            self.action_practice()
        else:
            self._begin_kind(RoundKind.FIRST if step is At.FIRST else RoundKind.LAST)

    def action_practice(self) -> None:
        """Go to practice."""
        self.tune_app.open_screen("practice")

    def action_loose(self) -> None:
        """Begin a loose round."""
        self._begin_kind(RoundKind.LOOSE)

    def _begin_kind(self, kind: RoundKind) -> None:
        from tunememory.rounds.planning import RoundWish  # noqa: PLC0415 - not needed to paint

        self.begin(RoundWish(kind))

    def action_retune(self) -> None:
        """Take the next tuning that tunes of the repertoire are in; the plan follows."""
        from tunememory.library.overview import tune_rows  # noqa: PLC0415 - not needed to paint

        tunings = sorted({row.tuning for row in tune_rows(self.session)})
        if len(tunings) < 2:
            say(self.tune_app, "All tunes are in one tuning.")
            return
        view = self._steps.view
        now = view.tuning if view else ""
        after = tunings[(tunings.index(now) + 1) % len(tunings)] if now in tunings else tunings[0]
        with self.trying():
            self.session.save_settings(replace(self.session.settings, standing_tuning=after))
            self.refill()
            say(self.tune_app, f"The instrument is in {after}.")

    def action_head_only(self) -> None:
        """Hold the sitting without the instrument, or with it again."""
        from tunememory.practice.sitting import set_head_only  # noqa: PLC0415 - not needed to paint
        from tunememory.rounds.running import sitting_of  # noqa: PLC0415 - not needed to paint

        with self.trying():
            head = set_head_only(self.session, on=not sitting_of(self.session).head_only)
            self.refill()
            say(self.tune_app, "Today in the head." if head else "Today with the instrument.")

    def action_close_day(self) -> None:
        """Ask for the line to the next time, and close the day."""
        from tunememory.practice.sitting import close_day, pick_up_today  # noqa: PLC0415
        from tunememory.ui.questions import AskLine  # noqa: PLC0415 - not needed to paint
        from tunememory.ui.widgets.fields import titles_at_hand  # noqa: PLC0415

        with self.trying():
            question = "Where shall we pick up next time?"
            closing = partial(close_day, self.session)
            ask = AskLine(question, closing, pick_up_today(self.session), "one line",
                          titles=titles_at_hand(self.session))  # fmt: skip
            self.app.push_screen(ask, self._day_closed)

    def _day_closed(self, line: str | None) -> None:
        from tunememory.practice.sitting import close_day  # noqa: PLC0415 - not needed to paint

        with self.trying():
            if line is None:
                close_day(self.session)
            self.refill()
            say(self.tune_app, "The day is closed. Everything is kept.")

    def begin(self, wish: RoundWish) -> None:
        """Begin a round, or say why there is nothing to ask.

        A player who comes back after a long time is asked for the minutes first.
        """
        from tunememory.practice.sitting import asks_minutes  # noqa: PLC0415 - not needed to paint

        if self.tune_app.session is None:
            return
        with self.trying():
            view = self._steps.view
            back = view is not None and view.coming_back and asks_minutes(self.session)
            if back and wish.minutes is None:
                self._ask_minutes(wish)
            else:
                self._begin(wish)

    def _ask_minutes(self, wish: RoundWish) -> None:
        from tunememory.ui.questions import AskLine  # noqa: PLC0415 - not needed to paint

        minutes: list[float] = []

        def keep(typed: str) -> None:
            minutes.append(_minutes_of(typed))

        def go_on(typed: str | None) -> None:
            if typed is not None:
                with self.trying():
                    self._begin(wish._replace(minutes=minutes[-1]))

        question = "Welcome back. How many minutes today?"
        given = str(COMING_BACK_MINUTES)
        self.app.push_screen(AskLine(question, keep, given, words=("begin", "not now")), go_on)

    def _begin(self, wish: RoundWish) -> None:
        from tunememory.practice.sitting import go_to_step  # noqa: PLC0415 - not needed to paint
        from tunememory.rounds.planning import plan_round  # noqa: PLC0415 - not needed to paint
        from tunememory.rounds.running import sitting_of  # noqa: PLC0415 - not needed to paint

        kind = wish.kind
        planned = plan_round(self.session, *wish)
        if not planned.asked:
            say(self.tune_app, planned.note or "Nothing to ask just now.")
            return
        if kind is not RoundKind.LOOSE and sitting_of(self.session).step is not At(kind.value):
            go_to_step(self.session, At(kind.value))
        self.begin_round(planned, self._round_left)

    def _round_left(self, _: object) -> None:
        """After the last round the day is closed with a line for the next time."""
        self.call_after_refresh(self._perhaps_over)

    def _perhaps_over(self) -> None:
        view = self._steps.view
        over = view is not None and view.sitting.step is At.OVER and not view.sitting.closed
        if over and self.is_current:
            self.action_close_day()


def _minutes_of(typed: str) -> float:
    """Read minutes for a round.

    Raises:
        NotDoneError: They make no sense.
    """
    try:
        minutes = float(typed.strip().replace(",", "."))
    except ValueError:
        minutes = 0.0
    if not 1 <= minutes <= MOST_MINUTES:
        raise NotDoneError(f"give the minutes as a number from 1 to {MOST_MINUTES}")
    return minutes
