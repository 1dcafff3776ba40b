"""Dates to be ready for and days off: the list, a date, its form, what was played at one."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, ClassVar, TypeAlias

from textual import on
from textual.widgets import Static

from tunememory.dates.agenda import date_of
from tunememory.dates.changing import (
    DateDraft,
    DayOffView,
    add_day_off,
    all_days_off,
    date_draft,
    export_dates,
    import_dates,
    preview_when,
    remove_date,
    remove_day_off,
    save_date,
    set_wanted,
)
from tunememory.dates.played import (
    PastDate,
    Played,
    ask_no_more,
    dates_to_tell,
    not_played_there,
    played_there,
)
from tunememory.dates.readiness import DateView, Readiness, all_dates, date_view
from tunememory.errors import NotDoneError
from tunememory.recall.state import in_ten
from tunememory.rounds.planning import plan_tunes
from tunememory.store.records import DATE_KINDS
from tunememory.ui.actions import SET, bind
from tunememory.ui.canvas import space_of
from tunememory.ui.questions import AskLine, FormScreen, PickScreen, confirm, sets_to_pick
from tunememory.ui.screen import SessionScreen
from tunememory.ui.text import cell, lines, plain, say, wrapped
from tunememory.ui.widgets import Field, Lines, RowList, expanded, line_field
from tunememory.words import ago, ahead, counted, day_words, weekday_words

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from textual.app import ComposeResult
    from textual.binding import BindingType

    from tunememory.dates.readiness import DateTune
    from tunememory.ui.text import Span


ROOMY = 68
"""From this many cells on everything is written out."""

NO_DATES = (
    "No dates yet.",
    "",
    "Press n to put one in: “every thursday”, “5 december”,",
    "“second saturday”, “every friday except 25 december”.",
    "Then pick its tunes: they come forward as it comes near.",
    "",
    "Press o for days off, i to bring in a calendar.",
)


DateRow: TypeAlias = DateView | PastDate | DayOffView
"""A line of the list: a date, one that has been and is to be told of, or days off."""


def ready_words(view: DateView, *, brief: bool = False) -> str:
    """Say how many would start now and on the day.

    ``"12 of 20 would start, 15 by then"``; ``"no tunes yet"`` where none are wanted.
    """
    if not view.wanted:
        return "no tunes yet"
    by_then = view.ready + view.will_be
    said = f"{view.ready} of {view.wanted}" + ("" if brief else " would start")
    return said if by_then <= view.ready or view.on is None else f"{said}, {by_then} by then"


def date_spans(row: DateRow, width: int) -> list[Span]:
    """Write a line of the list of dates."""
    if isinstance(row, DayOffView):
        return _columns("– ", row.note or "day off", "", row.when, width, "quiet")
    title = row.dated.title
    if isinstance(row, PastDate):
        on = f"{row.on:%a} {row.on.day}"
        return _columns("? ", title, on, "what was played?", width, "bright")
    if row.days is None:
        return _columns("· ", title, "over", "", width, "quiet")
    said = ready_words(row, brief=width < ROOMY)
    return _columns("◇ ", title, ahead(row.days), said, width, "")


def _columns(sign: str, title: str, when: str, said: str, width: int, role: str) -> list[Span]:
    words = 33 if width >= ROOMY else 22
    room = max(8, width - 2 - 12 - words)
    return [
        (sign, role or "accent"),
        (cell(title, room), role),
        (cell(f" {when}", 12), "quiet"),
        (cell(f" {said}", words), role or "quiet"),
    ]


def date_lines(
    view: DateView, today: date, width: int, *, set_word: str = "set"
) -> list[list[Span]]:
    """Say what a date is and how ready.

    Args:
        view: The date.
        today: The present practice day.
        width: Cells across.
        set_word: What the player calls tunes played in a row.
    """
    on, when = "over", view.when
    if view.on is not None:
        day = weekday_words(view.on, year=False)
        on = f"{day}, {ahead((view.on - today).days)}"
        # Of a single day everything is said already.
        when = "" if when.startswith(day) else when
    facts = " · ".join(filter(None, (view.dated.kind, view.dated.place, when)))
    lines = wrapped(facts, width, "quiet") if facts else []
    lines.append([(cell(on, min(width, 34)), "strong")])
    if view.on is not None:
        lines += wrapped(ready_words(view), width, "bright" if view.wanted else "quiet")
    if view.sets:
        lines += wrapped(f"{set_word}s: {', '.join(view.sets)}", width, "quiet")
    if view.leave_out:
        said = "Under half can be ready. Rather leave out: " + ", ".join(view.leave_out)
        lines += wrapped(said, width, "fading")
    return lines


READY_WORDS = {
    Readiness.READY: "ready",
    Readiness.WILL_BE: "by then",
    Readiness.NOT_YET: "not yet",
}
"""How a tune stands, in a column."""


def date_tune_spans(row: DateTune, width: int, *, over: bool = False) -> list[Span]:
    """Write a tune of a date: its chance now, its chance on the day, how it stands.

    Args:
        row: The tune.
        width: Cells across.
        over: The date is over: whether it was played there is all there is to say.
    """
    brief = width < ROOMY
    key = 6 if width >= 52 else 0
    if over:
        said = f"played {day_words(row.played, year=False)}" if row.played else ""
        room = max(8, width - 20 - key)
        return [(cell(row.tune.title, room), ""), (cell(f" {row.tune.key_short}", key), "quiet"),
                (cell(said, 20), "quiet")]  # fmt: skip
    chance = 10 if brief else 14
    now, then = in_ten(row.chance, brief=brief), in_ten(row.kept, brief=brief)
    room = max(8, width - 2 * chance - 3 - 8 - key)
    mark = "" if row.readiness is Readiness.READY else space_of(row.kept)
    return [
        (cell(row.tune.title, room), ""),
        (cell(f" {row.tune.key_short}", key), "quiet"),
        (cell(f" {now}", chance), space_of(row.chance)),
        (" → ", "staff"),
        (cell(then, chance), space_of(row.kept)),
        (cell(READY_WORDS[row.readiness], 8), mark or "strong"),
    ]


def preview_words(words: str, days: Sequence[date]) -> str:
    """Say how a date was understood: ``"every Thursday: 26 November, 3 December …"``."""
    shown = ", ".join(day_words(day, year=False) for day in days)
    return f"{words}: {shown}{' …' if len(days) > 1 else ''}" if shown else words


def played_lines(past: PastDate, today: date, width: int) -> list[list[Span]]:
    """Say which date is meant and how to answer."""
    on = f"{weekday_words(past.on, year=False)}, {ago(past.on, today)}"
    number = counted(len(past.tunes), "tune")
    return [
        [(cell(on, width), "strong")],
        *wrapped(f"{number} were meant for it. What was played counts as met.", width, "quiet"),
    ]


def played_spans(row: Played, width: int) -> list[Span]:
    """Write a tune, a full note before one that was played."""
    mark, role = ("● ", "bright") if row.played else ("○ ", "quiet")
    said = "played there" if row.played else ""
    return [(mark, role), (cell(row.title, max(0, width - 16)), ""), (cell(said, 14), role)]


class DateForm(FormScreen):
    """One date.

    Args:
        uuid: The date to change; empty makes one.
    """

    HEAD = "Date"

    def __init__(self, uuid: str = "") -> None:
        super().__init__()
        self._uuid = uuid
        self._given = DateDraft()

    def lines(self) -> tuple[Field, ...]:
        """When comes first: the rest may wait."""
        if self._uuid and not self._given.when:
            with self.trying():
                self._given = date_draft(self.session, self._uuid)
        given = self._given
        weeks = str(given.weeks_before) if given.weeks_before else ""
        return (
            line_field("when", given.when, "5 december · every thursday …"),
            line_field("name", given.title, "what you call it", id="title"),
            line_field("kind", given.kind, ", ".join(DATE_KINDS[:4]) + " …", DATE_KINDS),
            line_field("place", given.place, "where, in words"),
            line_field("season", weeks, "weeks before, for its tunes to wake", id="weeks"),
        )

    def follow(self, name: str, text: str) -> str:
        """Read the date back as it is typed."""
        if name != "when" or len(text) < 3:
            return ""
        return preview_words(*preview_when(self.session, text))

    def keep(self) -> str:
        """Keep the date; its tunes and sets stay."""
        weeks = self.typed("weeks")
        if weeks and not weeks.isdecimal():
            raise NotDoneError("season: give a number of weeks, or leave it empty")
        draft = replace(
            self._given,
            when=self.typed("when"),
            title=self.typed("title"),
            kind=self.typed("kind"),
            place=self.typed("place"),
            weeks_before=int(weeks or 0),
        )
        return save_date(self.session, draft, self._uuid).uuid


class DayOffForm(FormScreen):
    """Days off."""

    HEAD = "Days off"

    def lines(self) -> tuple[Field, ...]:
        """When, and a word why."""
        return (
            line_field("when", "", "every sunday · 2 august to 14 august"),
            line_field("note", "", "holiday, rest day …"),
        )

    def follow(self, name: str, text: str) -> str:
        """Read the days back as they are typed."""
        if name != "when" or len(text) < 3 or " to " in text:
            return ""
        return preview_words(*preview_when(self.session, text))

    def keep(self) -> str:
        """Keep the days off."""
        return add_day_off(self.session, self.typed("when"), self.typed("note")).uuid


class DatesScreen(SessionScreen[None]):
    """The list of dates, soonest first; those that have been and are not told of on top."""

    HEAD = "Dates"
    CSS = """
    DatesScreen RowList { padding-top: 1; }
    DatesScreen.-short RowList { padding: 0; }
    DatesScreen #about { height: 2; padding: 0 2; color: $quiet; }
    DatesScreen #none { display: none; height: 1fr; padding: 1 2; color: $quiet; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter", "open_date", "open", "Open this date, or say what was played there"),
        bind("n,a", "add", "new date", "Put in a date"),
        bind("e", "edit", "change", "Change this date"),
        bind("o", "off", "days off", "Put in days off: a rest day, a holiday"),
        bind("x", "remove", "remove", "Take this date or these days off out"),
        bind("s", "app.open('sets')", f"{SET}s", f"Go to the {SET}s", shown=False),
        bind("i", "take", "import", "Bring in a calendar file (.ics)", shown=False),
        bind("w", "export", "export", "Write all dates to a calendar file (.ics)", shown=False),
        bind("escape,q", "dismiss", "back", "Go back", key="esc"),
    ]

    def body(self) -> ComposeResult:
        """The list, and a line about the date under the cursor."""
        yield RowList(date_spans)
        yield Static(id="about")
        yield Static(lines(*(plain(row) for row in NO_DATES)), id="none")

    @property
    def _rows(self) -> RowList[DateRow]:
        return self.query_one(RowList)

    def fill(self) -> None:
        """Show the dates, the cursor where it was."""
        views = all_dates(self.session)
        rows: tuple[DateRow, ...] = (
            *dates_to_tell(self.session),
            *views,
            *all_days_off(self.session),
        )
        # At first on the next date; what is still to be told stands above it.
        first = next((n for n, row in enumerate(rows) if isinstance(row, DateView)), 0)
        self._rows.show(rows, self._rows.cursor if self._rows.rows else first)
        self._rows.display = self.query_one("#about").display = bool(rows)
        self.query_one("#none").display = not rows
        self._rows.focus()
        self.head(right=counted(len(views), "date") if views else "")
        self._about()

    @on(RowList.Highlighted)
    def _about(self) -> None:
        row = self._rows.current
        facts: tuple[str, ...] = ()
        if isinstance(row, DateView):
            facts = (row.when, row.dated.kind, row.dated.place)
        said = " · ".join(filter(None, facts))
        self.query_one("#about", Static).update(plain(said))
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer only what can be done with the line one is on."""
        row = self._rows.current
        if action == "open_date":
            return isinstance(row, DateView | PastDate)
        if action == "edit":
            return isinstance(row, DateView)
        if action == "remove":
            return isinstance(row, DateView | DayOffView)
        return super().check_action(action, parameters)

    @on(RowList.Chosen)
    def action_open_date(self) -> None:
        """Open the date, or ask what was played at it."""
        row = self._rows.current
        if isinstance(row, PastDate):
            self.tune_app.open_screen("played", past=row)
        elif isinstance(row, DateView):
            self.tune_app.open_screen("date", uuid=row.dated.uuid)

    def action_add(self) -> None:
        """Put in a date, then pick its tunes."""
        self.app.push_screen(DateForm(), self._added)

    def _added(self, uuid: str | None) -> None:
        if uuid:
            question = "Which tunes are wanted there?"
            self.app.push_screen(PickScreen(question, many=True), partial(self._picked, uuid))

    def _picked(self, uuid: str, tunes: tuple[str, ...] | None) -> None:
        with self.trying():
            if tunes:
                set_wanted(self.session, uuid, tunes=tunes)
            self.tune_app.open_screen("date", uuid=uuid)

    def action_edit(self) -> None:
        """Change the date."""
        row = self._rows.current
        if isinstance(row, DateView):
            self.app.push_screen(DateForm(row.dated.uuid), self._changed)

    def action_off(self) -> None:
        """Put in days off."""
        self.app.push_screen(DayOffForm(), self._changed)

    def _changed(self, _: str | None) -> None:
        self.refill()

    def action_remove(self) -> None:
        """Take the date out after asking; days off at once."""
        row = self._rows.current
        if isinstance(row, DayOffView):
            with self.trying():
                remove_day_off(self.session, row.uuid)
                self.refill()
        elif isinstance(row, DateView):
            question = f"Take “{row.dated.title}” out?"
            remove = partial(self._remove, row.dated.uuid)
            confirm(self, question, ("take it out", "leave it"), remove)

    def _remove(self, uuid: str) -> None:
        remove_date(self.session, uuid)
        self.refill()

    def action_take(self) -> None:
        """Bring in a calendar."""
        ask = AskLine("Bring in which calendar?", self._take, hint="a .ics file")
        self.app.push_screen(ask, self._changed)

    def _take(self, typed: str) -> None:
        taken = import_dates(self.session, expanded(typed.strip()))
        said = f"{counted(taken.taken, 'date')} taken, {taken.changed} changed"
        if taken.left_out:
            line, why = taken.left_out[0]
            said += f"; {len(taken.left_out)} left out (line {line}: {why})"
        say(self.tune_app, f"{said}.", "warning" if taken.left_out else "calm")

    def action_export(self) -> None:
        """Write the dates out."""
        self.app.push_screen(AskLine("Write all dates to", self._export, "dates.ics"))

    def _export(self, typed: str) -> None:
        path = expanded(typed.strip())
        export_dates(self.session, path)
        say(self.tune_app, f"Written to {path}.")


NO_TUNES = "No tunes are wanted here yet. Press t to pick them, s for {word}s."


class DatePage(SessionScreen[None]):
    """The page of one date.

    Args:
        uuid: Identity of the date.
    """

    CSS = """
    DatePage #facts { padding: 1 2 1 2; }
    DatePage.-short #facts { padding: 0 2; }
    DatePage #none { display: none; height: 1fr; padding: 0 2; color: $quiet; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter", "open_tune", "open", "Open the page of this tune"),
        bind("r", "round", "ask them", "Ask for those that are not ready yet, one after the other"),
        bind("c", "check", "check", "Ask for this tune now"),
        bind("t", "tunes", "tunes", "Pick the tunes that are wanted there"),
        bind("s", "sets", f"{SET}s", f"Pick the {SET}s that are wanted there"),
        bind("e", "edit", "change", "Change this date"),
        bind("p", "card", "card", "Make a card of its tunes for the case"),
        bind("o", "tonight", "what to start", "What to start there", shown=False),
        bind("escape,q", "dismiss", "back", "Go back", key="esc"),
    ]

    def __init__(self, uuid: str) -> None:
        super().__init__()
        self.uuid = uuid
        self._view: DateView | None = None

    def body(self) -> ComposeResult:
        """What the date is, over its tunes."""
        yield Lines(id="facts")
        yield RowList(self._write)
        yield Static(id="none")

    def fill(self) -> None:
        """Write the page anew."""
        try:
            self._view = view = date_view(self.session, self.uuid)
        except NotDoneError as error:
            say(self.tune_app, str(error), "error")
            self.dismiss(None)
            return
        today, word = self.session.day(), self.session.settings.set_word
        facts = self.query_one("#facts", Lines)
        facts.show(lambda width: date_lines(view, today, width, set_word=word))
        self.query_one("#none", Static).update(plain(NO_TUNES.format(word=word)))
        rows = self.query_one(RowList)
        rows.renew(view.tunes, lambda row: row.tune.uuid)
        rows.display = bool(view.tunes)
        self.query_one("#none").display = not view.tunes
        rows.focus()
        chances = "now → on the day" if view.tunes and view.on else ""
        self.head(left=view.dated.title, right=chances)
        self.refresh_bindings()

    def _write(self, row: DateTune, width: int) -> list[Span]:
        over = self._view is not None and self._view.on is None
        return date_tune_spans(row, width, over=over)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer only what can be done now."""
        if action in {"open_tune", "check", "card"}:
            return bool(self.query_one(RowList).rows)
        if action == "round":
            return bool(self._not_ready)
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

    @property
    def _not_ready(self) -> list[str]:
        view = self._view
        if view is None or view.on is None:
            return []
        return [row.tune.uuid for row in view.tunes if row.readiness is not Readiness.READY]

    def action_round(self) -> None:
        """Ask for the tunes that are not ready, in a loose round."""
        with self.trying():
            self.begin_round(plan_tunes(self.session, self._not_ready))

    def action_tunes(self) -> None:
        """Pick the tunes."""
        with self.trying():
            picked = date_of(self.session, self.uuid).tunes
            ask = PickScreen("Which tunes are wanted there?", picked, many=True)
            self.app.push_screen(ask, lambda tunes: self._wanted(tunes=tunes))

    def action_sets(self) -> None:
        """Pick the sets."""
        with self.trying():
            picked = date_of(self.session, self.uuid).sets
            word = self.session.settings.set_word
            ask = PickScreen(f"Which {word}s are wanted there?", picked, many=True,
                             read=sets_to_pick)  # fmt: skip
            self.app.push_screen(ask, lambda sets: self._wanted(sets=sets))

    def _wanted(
        self, tunes: tuple[str, ...] | None = None, sets: tuple[str, ...] | None = None
    ) -> None:
        if tunes is None and sets is None:
            return  # nothing was picked
        with self.trying():
            set_wanted(self.session, self.uuid, tunes, sets)
            self.refill()

    def action_edit(self) -> None:
        """Change the date."""
        self.app.push_screen(DateForm(self.uuid))

    def action_card(self) -> None:
        """Make a card of its tunes."""
        if self._view is not None:
            self.tune_app.open_screen("card", what=self._view.dated.title)

    def action_tonight(self) -> None:
        """Say what to start there."""
        self.tune_app.open_screen("tonight", at=self.uuid)


class PlayedScreen(SessionScreen[None]):
    """The tunes of a date that has been. Every key is kept at once.

    Args:
        past: The date.
    """

    OPENS_AREAS = False
    CSS = """
    PlayedScreen #facts { padding: 1 2; }
    PlayedScreen.-short #facts { padding: 0 2; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter,space", "turn", "played", "This one was played there, or was not after all"),
        bind("a", "all", "all of them", "All of them were played there"),
        bind("n", "nothing", "nothing more", "Nothing more was played: done with this date"),
        bind("t", "others", "others", "Pick other tunes that were played there"),
        bind("escape,q", "dismiss", "back", "Go back; what is marked is kept", key="esc"),
    ]

    def __init__(self, past: PastDate) -> None:
        super().__init__()
        self._past = past
        self._tunes = list(past.tunes)

    def body(self) -> ComposeResult:
        """Which date, over its tunes."""
        yield Lines(id="facts")
        yield RowList(played_spans)

    def fill(self) -> None:
        """Show the tunes."""
        past, today = self._past, self.session.day()
        self.head(left=past.dated.title, right="what was played?")
        self.query_one("#facts", Lines).show(lambda width: played_lines(past, today, width))
        self._show()
        self.query_one(RowList).focus()

    def _show(self) -> None:
        rows = self.query_one(RowList)
        rows.show(tuple(self._tunes), rows.cursor)

    def _played(self, tunes: Sequence[str]) -> None:
        with self.trying():
            played_there(self.session, self._past.dated.uuid, self._past.on, tunes)
            self._tunes = [
                tune._replace(played=tune.played or tune.tune in tunes) for tune in self._tunes
            ]
            known = {tune.tune for tune in self._tunes}
            self._tunes += [
                Played(uuid, self.session.tune(uuid).title, played=True)
                for uuid in tunes
                if uuid not in known
            ]
            self._show()

    @on(RowList.Chosen)
    def action_turn(self) -> None:
        """Mark the tune under the cursor, and go on to the next; or take the mark away."""
        rows = self.query_one(RowList)
        here = rows.current
        if here is None:
            return
        if not here.played:
            self._played([here.tune])
            rows.cursor += 1
            return
        with self.trying():
            not_played_there(self.session, self._past.dated.uuid, self._past.on, here.tune)
            self._tunes[rows.cursor] = here._replace(played=False)
            self._show()

    def action_all(self) -> None:
        """All were played; that is all there is to say."""
        self._played([tune.tune for tune in self._tunes])

    def action_nothing(self) -> None:
        """Ask no more about this date."""
        with self.trying():
            ask_no_more(self.session, self._past.dated.uuid, self._past.on)
            self.dismiss(None)

    def action_others(self) -> None:
        """Pick tunes that were not meant for it and were played all the same."""
        self.app.push_screen(PickScreen("What else was played?", many=True), self._others)

    def _others(self, tunes: tuple[str, ...] | None) -> None:
        if tunes:
            self._played(tunes)
