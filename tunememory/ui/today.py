"""Today: what waits, the sitting, what fades, and the whole repertoire at a look."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache, partial
from typing import TYPE_CHECKING, ClassVar

from textual.containers import Container
from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget
from textual.widgets import Static

from tunememory.errors import NotDoneError
from tunememory.recall.check import RoundKind
from tunememory.recall.state import in_ten
from tunememory.store.records import At
from tunememory.text import charset_here
from tunememory.ui.actions import HEAD_ONLY, SET, bind
from tunememory.ui.canvas import SPACES, Head, empty_staff, repertoire_staff, space_of, space_row
from tunememory.ui.screen import SessionScreen
from tunememory.ui.text import Span, bare, cell, inked, joined, plain, say, width_of
from tunememory.words import ago, ahead, counted, weekday_words

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from textual.app import ComposeResult
    from textual.binding import BindingType
    from textual.events import Click

    from tunememory.dates.readiness import DateView
    from tunememory.practice.sitting import RoundToday
    from tunememory.practice.today import Fades, TodayView, TuneMark
    from tunememory.rounds.planning import RoundWish


MOST_FADING = 5
"""Names of fading tunes shown; the rest is a key away."""

MOST_COMING = 2
"""Dates shown; the rest is a key away."""


def coming_words(date: DateView) -> str:
    """Say when a date is and how ready: ``"in 12 days · 12 of 20"``."""
    ready = f"{date.ready} of {date.wanted}" if date.wanted else ""
    return " · ".join(filter(None, (ahead(date.days or 0), ready)))


class Fading(Widget):
    """A few names of what fades, weakest first, with the chance in words; then the next dates.

    Where what fades is not to be said, the dates stand alone.
    """

    DEFAULT_CSS = """
    Fading { height: 6; }
    """

    fading: reactive[tuple[Fades, ...] | None] = reactive(None, init=False)
    coming: reactive[tuple[DateView, ...]] = reactive((), init=False)

    def render(self) -> Content:
        """A heading and as many rows as there is room for."""
        if self.fading is None and not self.coming:
            return Content("")
        dates = self.coming[: MOST_COMING if self.size.height > 4 else 1]
        room = self.size.height - 1 - len(dates)
        head = "Coming" if self.fading is None else "What fades"
        rows: list[list[Span]] = [[(head, "strong")]]
        if self.fading == ():
            rows.append([("Nothing beyond this round.", "quiet")])
        for row in (self.fading or ())[: min(MOST_FADING, room)]:
            strand = "" if row.strand == "A" else f" · {row.strand}"
            words = in_ten(row.chance)
            rows.append(self._ends(row.title, "", strand, words, space_of(row.chance)))
        rows += [
            self._ends(date.dated.title, "strong", "", coming_words(date), "accent")
            for date in dates
        ]
        return inked(rows)

    def _ends(self, title: str, ink: str, strand: str, words: str, role: str) -> list[Span]:
        """A title on the left, words on the right."""
        room = self.size.width - width_of(words) - 2
        title = cell(title, min(room - width_of(strand), width_of(bare(title)))).rstrip()
        space = " " * (room + 2 - width_of(title) - width_of(strand))
        return [(title, ink), (strand + space, "quiet"), (words, role)]


WORDS = 12
"""Cells of the words left of the staff, a blank included."""

MOST_GAP = 4
"""Rows between two staff lines at most; taller looks empty."""


NOT_ASKED = "not asked yet"
"""The state of a tune that has no place in the four spaces."""


def head_of(tune: TuneMark) -> Head:
    """Return a tune as a note head, gathered by the letter of its root."""
    return Head(
        group=_written(tune.root),
        chance=tune.chance,
        role=space_of(tune.chance) if tune.asked else "quiet",
        asked=tune.asked,
    )


@lru_cache(maxsize=64)
def _written(root: str) -> str:
    return root.replace("b", "♭").replace("#", "♯") or "?"


def draw(
    tunes: tuple[TuneMark, ...], counts: Mapping[str, int], width: int, height: int
) -> list[list[Span]]:
    """Draw the staff, the words beside it, the roots and the legend beneath.

    Args:
        tunes: In an order that stays from day to day.
        counts: Tunes in each state, by its name.
        width: Cells across, words included.
        height: Rows there are, at least 7.
    """
    charset = charset_here()
    gap = max(0, min(MOST_GAP, (height - 2 - 5) // len(SPACES)))
    across = max(3, width - WORDS)
    heads = [head_of(tune) for tune in tunes]
    if heads:
        drawn = repertoire_staff(heads, across, gap, charset)
        rows, each = drawn.rows, drawn.each
    else:
        rows, each = empty_staff(across, gap, (), charset, foot=1).rows(), 1
    words: dict[int, list[Span]] = {}
    for place, name in enumerate(reversed(SPACES)):
        number = counts.get(name, 0)
        word = f"{number:>4} " if counts else "     "
        words[space_row(place, gap)] = [(word, ""), (cell(name, WORDS - 5), name)]
    picture = [[*words.get(y, [(" " * WORDS, "")]), *row] for y, row in enumerate(rows)]
    if heads:
        picture.append(
            [(" " * WORDS + _legend(charset.head, charset.hollow, counts, each), "quiet")]
        )
    return picture


def _legend(head: str, hollow: str, counts: Mapping[str, int], each: int) -> str:
    said = [f"{head} asked"]
    if counts.get(NOT_ASKED):
        said.append(f"{hollow} {NOT_ASKED} ({counts[NOT_ASKED]})")
    if each > 1:
        said.append(f"one note is up to {counted(each, 'tune')}")
    return "   ".join(said)


class StaffPicture(Widget):
    """All tunes on the staff. Empty until ``show`` is called."""

    DEFAULT_CSS = """
    StaffPicture { height: 1fr; min-height: 7; }
    """

    tunes: reactive[tuple[TuneMark, ...]] = reactive((), init=False)
    counts: reactive[dict[str, int]] = reactive({}, init=False)

    def show(self, tunes: tuple[TuneMark, ...], counts: dict[str, int]) -> None:
        """Draw these tunes."""
        self.counts = counts
        self.tunes = tunes

    def render(self) -> Content:
        """The picture at the size of the widget."""
        return inked(draw(self.tunes, self.counts, self.size.width, self.size.height))


STEPS = (At.FIRST, At.PRACTICE, At.LAST)
"""What can be marked, from top to bottom."""

_NAMES = {At.FIRST: "First round", At.PRACTICE: "Practice", At.LAST: "Last round"}
_KINDS = {At.FIRST: RoundKind.FIRST, At.LAST: RoundKind.LAST}


def length_words(minutes: float) -> str:
    """Say how long a round takes: ``"~4 min"``, ``"<1 min"``."""
    return f"~{round(minutes)} min" if minutes >= 0.75 else "<1 min"


def first_mark(view: TodayView) -> At:
    """Return the step that Enter begins: where the sitting stands, rounds already done passed."""
    done = {step.kind for step in view.steps if step.done}
    if view.sitting.step is At.FIRST and RoundKind.FIRST in done:
        return At.PRACTICE
    if view.sitting.step is At.OVER:
        return At.FIRST if view.sitting.closed else At.LAST
    return view.sitting.step


def _passed(step: At, view: TodayView) -> bool:
    """Whether the sitting has gone on beyond a step."""
    order = tuple(At)
    return order.index(view.sitting.step) > order.index(step)


def _practice(view: TodayView) -> str:
    tunes = counted(view.practice, "tune")
    if not _passed(At.PRACTICE, view):
        if view.sitting.head_only:
            return f"{tunes} · in the head" if view.practice else "in the head"
        return f"{tunes} to work on" if view.practice else "nothing waits"
    if view.practised:
        return f"done · {tunes} to work on" if view.practice else "done"
    return f"left out · {tunes}" if view.practice else "left out"


class Steps(Widget):
    """The steps of a sitting, one marked: the one that Enter begins."""

    DEFAULT_CSS = """
    Steps { height: 3; padding-right: 1; text-wrap: nowrap; text-overflow: ellipsis; }
    """

    view: reactive[TodayView | None] = reactive(None, init=False)
    marked: reactive[At] = reactive(At.FIRST, init=False)

    def show(self, view: TodayView) -> None:
        """Show the day; the mark moves only when the sitting has moved on."""
        if self.view is None or first_mark(self.view) is not first_mark(view):
            self.marked = first_mark(view)
        self.view = view

    def render(self) -> Content:
        """First round, practice, last round."""
        return inked([self._line(step) for step in STEPS])

    def _line(self, step: At) -> list[Span]:
        here = self.view is not None and step is self.marked
        said = self._said(step, self.view) if self.view else ""
        return [
            ("▸ " if here else "  ", "bright"),
            (cell(_NAMES[step], 14), "bright" if here else "strong" if self.view else "quiet"),
            (said, "" if here else "quiet"),
        ]

    def _said(self, step: At, view: TodayView) -> str:
        if step is At.PRACTICE:
            return _practice(view)
        rounds = {each.kind: each for each in view.steps}
        tuning = view.tuning if step is At.FIRST else ""
        return self._round(rounds.get(_KINDS[step]), tuning, passed=_passed(step, view))

    def _round(self, step: RoundToday | None, tuning: str, *, passed: bool) -> str:
        if step is None:
            return ""
        if step.done:
            return "done · more if you like" if step.prompts else "done"
        if step.asked:
            return f"{step.asked} of {step.asked + step.prompts} asked · {step.prompts} left"
        if not step.prompts:
            return "nothing to ask just now"
        tunes = counted(step.prompts, "tune")
        if passed:
            return f"left out · {tunes}"
        return " · ".join(filter(None, (tunes, length_words(step.minutes), tuning)))

    def move(self, steps: int) -> None:
        """Mark the next step or the one before."""
        place = STEPS.index(self.marked) + steps
        self.marked = STEPS[max(0, min(len(STEPS) - 1, place))]

    def on_click(self, event: Click) -> None:
        """A click on a step begins it."""
        if 0 <= event.y < len(STEPS):
            self.marked = STEPS[event.y]
            self.call_later(self.screen.run_action, "begin")


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
        from tunememory.ui.widgets import titles_at_hand  # noqa: PLC0415

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
