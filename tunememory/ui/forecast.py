"""What is fading, the year ahead, and how well the program guesses."""

from __future__ import annotations

import time
from itertools import zip_longest
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.containers import VerticalScroll
from textual.message import Message
from textual.widgets import Static
from textual.worker import Worker, WorkerState, get_current_worker

from tunememory.errors import NotDoneError
from tunememory.forecast.how_well import OWN_LEVEL, HowWell, how_well_guessed, sentences
from tunememory.forecast.year import YearAhead, assumed, sentence, year_ahead
from tunememory.library.overview import FadingRow, fading_tunes
from tunememory.recall.check import strand_words
from tunememory.recall.state import State, in_ten
from tunememory.session import open_session
from tunememory.text import UNICODE, Charset, charset_here
from tunememory.ui.actions import bind
from tunememory.ui.canvas import (
    LABEL,
    bar_row,
    curve_lines,
    empty_staff,
    merged,
    row_of,
    space_of,
    space_words,
    staff_height,
)
from tunememory.ui.screen import SessionScreen
from tunememory.ui.text import Span, cell, lines, plain, say, width_of, wrapped
from tunememory.ui.widgets import Lines, RowList
from tunememory.words import ago, counted, figures

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.app import ComposeResult
    from textual.binding import BindingType
    from textual.timer import Timer

    from tunememory.forecast.how_well import ChanceStep
    from tunememory.ui.canvas import Point


HORIZONS = ((0, "today"), (7, "in a week"), (30, "in a month"))
"""Days ahead and what they are called."""

BETWEEN = 3
"""Cells between two staves."""

WIDEST_STAFF = 40
"""Cells of one staff at most; a note moves too little on a wider one to be followed."""


def staves_lines(
    ahead: Sequence[Sequence[FadingRow]],
    chosen: int,
    width: int,
    gap: int,
    charset: Charset = UNICODE,
) -> list[list[Span]]:
    """Draw the three staves, the names of the states on their left.

    The tunes stand in the order of today's chance, weakest on the left, and keep their place in
    all three, so that the row of notes is seen to sink. Where there are more tunes than columns
    a note is the middle one of its neighbours.

    Args:
        ahead: The fading lists of ``HORIZONS``, one each.
        chosen: Which of them the list below shows.
        width: Cells across.
        gap: Rows between two staff lines, 0 to 3.
        charset: Signs to draw with.
    """
    across = min(WIDEST_STAFF, (width - LABEL - BETWEEN * (len(ahead) - 1)) // len(ahead))
    order = [row.tune.uuid for row in ahead[0]]
    each = max(1, -(-len(order) // across))
    words = space_words(gap)
    heads: list[Span] = [(" " * LABEL, "")]
    for place, (_, name) in enumerate(HORIZONS[: len(ahead)]):
        mark = "▸ " if place == chosen else "  "
        space = BETWEEN if place < len(ahead) - 1 else 0
        heads.append(
            (cell(mark + name, across) + " " * space, "accent" if place == chosen else "quiet")
        )
    lines: list[list[Span]] = [heads]
    pictures = [_staff(order, rows, across, each, gap, charset) for rows in ahead]
    for y in range(staff_height(gap)):
        line = [words.get(y, (" " * LABEL, ""))]
        for place, picture in enumerate(pictures):
            if place:
                line.append((" " * BETWEEN, ""))
            line.extend(picture[y])
        lines.append(line)
    if each > 1:
        lines.append([(" " * LABEL + f"one note is {counted(each, 'tune')}", "quiet")])
    return lines


def _staff(
    order: list[str], rows: Sequence[FadingRow], across: int, each: int, gap: int, charset: Charset
) -> list[list[Span]]:
    chances = {row.tune.uuid: row.chance for row in rows}
    grid = empty_staff(across, gap, (), charset)
    groups = [order[first : first + each] for first in range(0, len(order), each)]
    for place, group in enumerate(groups):
        middle = sorted(
            (chances[tune] for tune in group if tune in chances), key=lambda c: c.chance
        )
        if not middle:
            continue
        chance = middle[len(middle) // 2]
        asked = chance.state is not State.NOT_ASKED
        # Few tunes spread over the staff, many fill it.
        x = (2 * place + 1) * across // (2 * len(groups))
        role = space_of(chance.chance) if asked else "new"
        grid.put(x, row_of(chance.chance, gap), charset.head if asked else charset.hollow, role)
    return grid.rows()


ROOMY = 68
"""From this many cells on everything is written out."""


def fading_spans(row: FadingRow, met: str, width: int) -> list[Span]:
    """Write a tune in ``width`` cells, ``met`` saying when it was last asked."""
    roomy = width >= ROOMY
    chance = row.chance
    asked = chance.state is not State.NOT_ASKED
    role = space_of(chance.chance) if asked else "new"
    strand = strand_words(row.strand) if roomy else row.strand
    columns: list[Span] = [
        (cell(strand, 8 if roomy else 4), "quiet"),
        (" " + cell(in_ten(chance.chance, brief=not roomy), 13 if roomy else 9), role),
        (" " + cell(chance.state.value if asked else "", 6), role),
        (" " + cell(met, 13), "quiet"),
    ]
    room = width - sum(len(text) for text, _ in columns) - 1
    return [(cell(row.tune.title, room) + " ", ""), *columns]


NOTHING = (
    "Nothing can fade yet.",
    "",
    "Tunes that are kept or in learning are shown here,",
    "once there is a key, a start or a name to ask for.",
)


class FadingScreen(SessionScreen[None]):
    """The three staves and the list of one of them."""

    HEAD = "Fading"
    CSS = """
    FadingScreen #staves { padding: 1 2; }
    FadingScreen.-short #staves { padding: 0 2; }
    FadingScreen #none { padding: 1 2; height: 1fr; color: $quiet; display: none; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter", "open_tune", "open", "Open the page of this tune"),
        bind("c", "check", "check", "Ask for this tune now"),
        bind("left", "ahead(-1)", "sooner", "Look less far ahead", key="←"),
        bind("right", "ahead(1)", "later", "Look further ahead", key="→"),
        bind("h", "app.open('how_well')", "how well", "See how well we guess"),
        bind("y", "app.open('forecast')", "a year", "Look a year ahead"),
        bind("escape,q", "dismiss", "back", "Go back"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._chosen = 0
        self._ahead: list[tuple[FadingRow, ...]] = [()] * len(HORIZONS)

    def body(self) -> ComposeResult:
        """Staves over the list."""
        yield Lines(id="staves")
        yield RowList(self._write)
        yield Static(lines(*(plain(row) for row in NOTHING)), id="none")

    def fill(self) -> None:
        """Show today; the staves of later days follow once it stands there."""
        self._ahead = [fading_tunes(self.session), *self._ahead[1:]]
        self.call_after_refresh(self._look_ahead)
        rows = self.query_one(RowList)
        some = bool(self._ahead[0])
        self.query_one("#staves").display = rows.display = some
        self.query_one("#none").display = not some
        if some:
            self._show()
            rows.focus()
        self.refresh_bindings()

    def _write(self, row: FadingRow, width: int) -> list[Span]:
        last = row.chance.last_checked
        met = (
            "not asked yet" if last is None else ago(self.session.day_of(last), self.session.day())
        )
        return fading_spans(row, met, width)

    def _look_ahead(self) -> None:
        self._ahead = [
            self._ahead[0],
            *(fading_tunes(self.session, days) for days, _ in HORIZONS[1:]),
        ]
        if self._ahead[0]:
            self._show()

    def _show(self) -> None:
        """Show the list of the chosen day, the cursor on the tune it was on."""
        rows = self.query_one(RowList)
        shown = self._ahead[self._chosen]
        rows.renew(shown, lambda row: row.tune.uuid)
        charset = charset_here()

        def staves(width: int) -> list[list[Span]]:
            gap = 0 if self.size.height < 22 else 1 if self.size.height < 32 else 2
            return staves_lines(self._ahead, self._chosen, width, gap, charset)

        self.query_one("#staves", Lines).show(staves)
        self.head(right=f"{counted(len(shown), 'tune')} {HORIZONS[self._chosen][1]}, weakest first")

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer only what can be done."""
        if action in {"open_tune", "check", "ahead"}:
            return bool(self._ahead[0])
        return super().check_action(action, parameters)

    @on(RowList.Chosen)
    def action_open_tune(self) -> None:
        """Open the tune under the cursor."""
        row = self.query_one(RowList).current
        if row is not None:
            self.tune_app.open_tune(row.tune.uuid)

    def action_check(self) -> None:
        """Ask for the tune under the cursor."""
        row = self.query_one(RowList).current
        if row is not None:
            self.ask_for(row.tune.uuid)

    def action_ahead(self, steps: int) -> None:
        """Look further ahead, or less far."""
        self._chosen = max(0, min(len(HORIZONS) - 1, self._chosen + steps))
        self._show()


def year_lines(found: YearAhead, width: int, rows_a_space: int) -> list[list[Span]]:
    """Draw the year: the chance of the average tune with its range, a sentence, what it assumes.

    Args:
        found: The year.
        width: Cells across.
        rows_a_space: Rows from one staff line to the next.
    """
    return [
        *curve_lines(average_curve(found), width, rows_a_space),
        [],
        *wrapped(sentence(found), width, "strong"),
        *wrapped(assumed(found), width, "quiet"),
    ]


def average_curve(found: YearAhead) -> list[Point]:
    """Return the chance of the average tune with its range, by day."""
    return [
        (float(p.day), p.middle / p.tunes, p.low / p.tunes, p.high / p.tunes) for p in found.points
    ]


def progress_lines(share: float, width: int) -> list[list[Span]]:
    """Draw how much of the year has been lived."""
    return [bar_row(share, width), [(f"living the year, {100 * share:.0f} in 100", "quiet")]]


MOST_MINUTES = 60
MOST_NEW = 12
"""As far as the keys go."""

WIDEST_YEAR = 96
"""Cells of a line to read at most."""

SECONDS_BETWEEN = 0.05
"""Between two reports of the worker: more often is not seen."""

SETTLED = 0.4
"""Seconds without a key after which the numbers are taken as chosen."""


class _BrokenOffError(Exception):
    """Raised inside the worker when the player breaks it off."""


class ForecastScreen(SessionScreen[None]):
    """Choose minutes and new tunes, watch the year being lived, read what came of it."""

    HEAD = "A year ahead"
    CSS = """
    ForecastScreen #asked { margin: 1 2 0 2; }
    ForecastScreen.-short #asked { margin: 0 2; }
    ForecastScreen #page { margin: 1 1 0 2; height: 1fr; scrollbar-size-vertical: 1; }
    ForecastScreen.-short #page { margin: 0 1 0 2; }
    ForecastScreen #page Lines { margin-right: 1; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("left", "minutes(-1)", "", "A minute a day less", key="←", group="minutes"),
        bind("right", "minutes(1)", "", "A minute a day more", key="→", group="minutes"),
        bind("up", "new(1)", "", "One new tune a month more", key="↑", group="new tunes"),
        bind("down", "new(-1)", "", "One new tune a month less", key="↓", group="new tunes"),
        bind("escape,q", "back", "back", "Break off, or go back", key="esc"),
    ]

    class Progress(Message):
        """So much of the year is lived, 0 to 1."""

        def __init__(self, share: float) -> None:
            super().__init__()
            self.share = share

        def can_replace(self, message: Message) -> bool:
            """Only the newest counts."""
            return isinstance(message, ForecastScreen.Progress)

    def __init__(self) -> None:
        super().__init__()
        self._minutes = 0
        self._new = 0
        self._worker: Worker[YearAhead | None] | None = None
        self._settling: Timer | None = None

    def body(self) -> ComposeResult:
        """What is asked, and the page."""
        yield Lines(id="asked")
        with VerticalScroll(id="page", can_focus=False):
            yield Lines(id="year")

    def fill(self) -> None:
        """Begin with the minutes of the first round."""
        if not self._minutes:
            self._minutes = max(1, round(self.session.settings.minutes_first))
            self._begin()

    def _begin(self) -> None:
        self._settling = None
        self._say_what()
        self._draw_share(0.0)
        self._worker = self._live(self._minutes, self._new)

    def _say_what(self) -> None:
        new = f"{counted(self._new, 'new tune')} a month" if self._new else "no new tunes"
        words = f"{counted(self._minutes, 'minute')} a day, {new}"
        row: list[Span] = [(words, "accent"), (" · your average tune", "quiet")]
        self.query_one("#asked", Lines).show(lambda _: [row])

    @work(thread=True, exclusive=True, group="forecast", exit_on_error=False)
    def _live(self, minutes: int, new: int) -> YearAhead | None:
        """Live the year with a session of its own; ``None`` when it was broken off."""
        worker = get_current_worker()
        last = 0.0

        def progress(share: float) -> None:
            nonlocal last
            if worker.is_cancelled:
                raise _BrokenOffError
            now = time.monotonic()
            if now - last >= SECONDS_BETWEEN:
                last = now
                self.post_message(self.Progress(share))

        try:
            with open_session(self.session.path, self.session.clock) as session:
                return year_ahead(session, minutes, None, new, progress)
        except _BrokenOffError:
            return None

    @on(Progress)
    def _progressed(self, message: Progress) -> None:
        if self._worker is not None:
            self._draw_share(message.share)

    def _draw_share(self, share: float) -> None:
        self.query_one("#year", Lines).show(lambda width: progress_lines(share, width))

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Show the year, or say why there is none."""
        if event.worker is not self._worker or not event.worker.is_finished:
            return
        self._worker = None
        error = event.worker.error
        if event.state is WorkerState.SUCCESS and isinstance(event.worker.result, YearAhead):
            self._show(event.worker.result)
        elif event.state is WorkerState.ERROR and error is not None:
            if not isinstance(error, NotDoneError):
                raise error
            self._say(f"{str(error).rstrip('.')}.")

    def _say(self, text: str) -> None:
        words = text[0].upper() + text[1:]
        self.query_one("#year", Lines).show(lambda width: wrapped(words, width, "quiet"))

    def _show(self, found: YearAhead) -> None:
        self.head(right=counted(found.points[0].tunes, "tune") + " now")

        def draw(width: int) -> list[list[Span]]:
            height = self.size.height
            tall = 1 if height < 24 else 2 if height < 32 else 3
            return year_lines(found, min(width, WIDEST_YEAR), tall)

        self.query_one("#year", Lines).show(draw)

    # Keys.

    def action_minutes(self, step: int) -> None:
        """Take a minute more, or less."""
        self._choose(max(1, min(MOST_MINUTES, self._minutes + step)), self._new)

    def action_new(self, step: int) -> None:
        """Take one new tune a month more, or less."""
        self._choose(self._minutes, max(0, min(MOST_NEW, self._new + step)))

    def _choose(self, minutes: int, new: int) -> None:
        self._minutes, self._new = minutes, new
        self._break_off()
        self._say_what()
        self._draw_share(0.0)
        # Several keys in a row are one wish.
        self._settling = self.set_timer(SETTLED, self._begin)

    def _break_off(self) -> bool:
        """End what is running or about to; whether there was anything."""
        busy = self._worker is not None or self._settling is not None
        if self._settling is not None:
            self._settling.stop()
        if self._worker is not None:
            self._worker.cancel()
        self._settling = self._worker = None
        return busy

    def action_back(self) -> None:
        """Break off what is running, or leave."""
        if self._break_off():
            self._say("Broken off. A key for minutes or new tunes begins anew.")
        else:
            self.dismiss(None)

    def on_unmount(self) -> None:
        """Leave nothing running behind."""
        self._break_off()


STEPS = 10
BETWEEN_COLUMNS = 3
TABLE = 26
"""Cells between picture and table, and of the table."""

GAP = 1
"""Rows between two staff lines; picture and table are then equally tall."""

HEADS = ("said", "came", "range", "checks")
WIDTHS = (4, 5, 9, 8)


def how_well_lines(
    steps: Sequence[ChanceStep], width: int, charset: Charset = UNICODE
) -> list[list[Span]]:
    """Draw picture and table side by side; in less than 53 cells the table alone.

    Args:
        steps: Steps that have checks, lowest chance first.
        width: Cells across.
        charset: Signs to draw with.
    """
    table = table_lines(steps)
    cells = (width - LABEL - BETWEEN_COLUMNS - TABLE) // STEPS
    if cells < 2:
        return table
    cells = min(cells, 4)
    picture = staff_lines(steps, cells, charset)
    across = LABEL + cells * STEPS
    lines = []
    for left, right in zip_longest(picture, table, fillvalue=None):
        begin = left if left is not None else [(" " * across, "")]
        lines.append([*begin, (" " * BETWEEN_COLUMNS, ""), *(right or [])])
    return lines


def staff_lines(
    steps: Sequence[ChanceStep], cells: int, charset: Charset = UNICODE
) -> list[list[Span]]:
    """Draw the staff, ``cells`` columns a step, a legend above and the scale beneath it."""
    across = cells * STEPS
    grid = empty_staff(across, GAP, (), charset, foot=1)
    for step in steps:
        x = round(step.begin * STEPS) * cells + cells // 2
        for y in range(row_of(step.high, GAP), row_of(step.low, GAP) + 1):
            grid.put(x, y, charset.bar, "quiet")
        grid.put(x, row_of(step.said, GAP), charset.ghost, "accent")
        came = charset.head if step.enough else charset.hollow
        grid.put(x, row_of(step.came, GAP), came, space_of(step.came))
    scale = _ends("said 0", "10 in 10", across)
    grid.write(0, staff_height(GAP), scale, "quiet")
    words = space_words(GAP)
    signs = f"{charset.head} came {charset.ghost} said {charset.bar} range"
    legend = cell(signs, LABEL + across)
    rows = [merged([words.get(y, (" " * LABEL, "")), *row]) for y, row in enumerate(grid.rows())]
    return [[(legend, "quiet")], *rows]


def table_lines(steps: Sequence[ChanceStep]) -> list[list[Span]]:
    """Write the numbers, in a hundred, high chances first; steps with few checks in grey."""
    lines: list[list[Span]] = [[(_row(HEADS), "quiet")]]
    for step in reversed(steps):
        band = f"{100 * step.low:.0f}–{100 * step.high:.0f}"
        checks = figures(round(step.checks)) if step.checks >= 0.5 else "<1"
        row = _row((f"{100 * step.said:.0f}", f"{100 * step.came:.0f}", band, checks))
        lines.append([(row, "" if step.enough else "quiet")])
    return lines


def _row(values: Sequence[str]) -> str:
    return "".join(cell(value, width, "right") for value, width in zip(values, WIDTHS, strict=True))


def _ends(left: str, right: str, across: int) -> str:
    return left + " " * max(1, across - width_of(left) - width_of(right)) + right


WIDEST_TABLE = 96
"""Cells of a line to read at most."""


class HowWellScreen(SessionScreen[None]):
    """The picture, the table, and a sentence."""

    HEAD = "How well we guess"
    CSS = """
    HowWellScreen #page { margin: 1 1 0 2; height: 1fr; scrollbar-size-vertical: 1; }
    HowWellScreen.-short #page { margin: 0 1 0 2; }
    HowWellScreen Lines { margin-right: 1; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("escape,q", "dismiss", "back", "Go back", key="esc"),
        bind("y", "app.open('forecast')", "a year ahead", "Look a year ahead"),
        bind("down", "roll(1)", "", "Further down", shown=False, key="↓"),
        bind("up", "roll(-1)", "", "Back up", shown=False, key="↑"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._worker: Worker[HowWell] | None = None

    def body(self) -> ComposeResult:
        """One page that scrolls if it must."""
        with VerticalScroll(id="page", can_focus=False):
            yield Lines(id="found")

    def fill(self) -> None:
        """Look back; the screen stays free meanwhile."""
        self.query_one(Lines).show(lambda width: wrapped("Looking back …", width, "quiet"))
        self._worker = self._look_back()

    @work(thread=True, exclusive=True, group="how well", exit_on_error=False)
    def _look_back(self) -> HowWell:
        with open_session(self.session.path, self.session.clock) as session:
            return how_well_guessed(session)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Show what was found, or say why nothing was."""
        if event.worker is not self._worker:
            return
        if event.state is WorkerState.SUCCESS and isinstance(event.worker.result, HowWell):
            self._show(event.worker.result)
        elif event.state is WorkerState.ERROR and event.worker.error is not None:
            if not isinstance(event.worker.error, NotDoneError):
                raise event.worker.error
            say(self.tune_app, str(event.worker.error), "error")

    def _show(self, found: HowWell) -> None:
        self.head(right=counted(found.checks, "cold check"))
        charset = charset_here()

        def draw(width: int) -> list[list[Span]]:
            rows: list[list[Span]] = []
            across = min(width, WIDEST_TABLE)
            if found.steps:
                rows += [*how_well_lines(found.steps, across, charset), []]
            for said in sentences(found):
                rows += wrapped(said, across, "strong" if found.enough else "")
            if found.enough and self.size.height >= 24:
                rows += wrapped(_losses(found), across, "quiet")
            return rows + wrapped(OWN_LEVEL, across, "quiet")

        self.query_one(Lines).show(draw)

    def action_roll(self, rows: int) -> None:
        """Move by lines."""
        self.query_one("#page", VerticalScroll).scroll_relative(y=rows, animate=False)


def _losses(found: HowWell) -> str:
    return (
        f"Mean surprise (log loss) {found.log_loss:.2f}, always the average "
        f"{found.average_log_loss:.2f}; less is better."
    )
