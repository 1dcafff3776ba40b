"""A round: one prompt at a time, two keys a tune, nothing ever typed."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, ClassVar

from textual.message import Message

from tunememory.tunes.check import NAME, Level
from tunememory.ui.actions import bind
from tunememory.ui.answering import WHOLE, Answer, strand_of_key
from tunememory.ui.canvas import charset_here
from tunememory.ui.desk_screen import DeskScreen
from tunememory.ui.drawing_round import (
    answer_lines,
    frame_for,
    hint_lines,
    ladder_lines,
    ladder_top,
    round_page,
    straying_lines,
)
from tunememory.ui.screens.round_done import ROUND_NAMES, summary_lines
from tunememory.ui.text import bare, cell, width_of
from tunememory.ui.widgets.sheet import Sheet
from tunememory.ui.words import in_ten, strand_words

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.binding import BindingType
    from textual.events import Click, Key, Resize

    from tunememory.service.round_run import RoundRun
    from tunememory.service.views import Planned
    from tunememory.ui.text import Span

_SHOWN_AS = {
    "both": ("letters", "fingers"),
    "letters": ("letters",),
    "fingers": ("fingers",),
}


HELD_SECONDS = 0.1
"""Two Enters closer than this are one key held down, and must not run through a round."""

_LEVELS = "how it came"
_LEVEL_ACTIONS = frozenset(f"level({number})" for number in (1, 2, 3, 4))


class RoundScreen(DeskScreen[None]):
    """Asks the prompts of a round, and says at its end how it went.

    Args:
        run: The round, begun.
        planned: What it was planned as.
    """

    OPENS_AREAS = False
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("space", "have", "I have it", "I have it: stop the clock and show the answer"),
        bind("4", "level(4)", "", "Would kick it off (named it)", group=_LEVELS),
        bind("3", "level(3)", "", "Would find it (it came to me)", group=_LEVELS),
        bind("2", "level(2)", "", "Would join in (with a nudge)", group=_LEVELS),
        bind("1", "level(1)", "", "Would sit it out (no name)", group=_LEVELS),
        bind("enter", "enter", "back to Today", "Show the answer; then give the marked level",
             key="enter"),
        bind("up", "move(1)", "", "Mark the level above", shown=False),
        bind("down", "move(-1)", "", "Mark the level below", shown=False),
        bind("h", "hint", "hint", "Show a hint, one step more each time; the level is 2 at most"),
        bind("w", "wrong_key", "wrong key", "Mark that it began in another key"),
        bind("x", "stray", "strayed", "Mark that it turned into another tune"),
        bind("k", "strand('k')", "", "The next level is for the key alone", shown=False),
        bind(
            "a,b,c,d,e,f,g", "strand_here", "", "The next level is for that start alone",
            shown=False, key="a b c …",
        ),
        bind("u", "undo", "undo", "Take the last level back and ask that one again"),
        bind("s", "skip", "skip", "Ask this one later in the round"),
        bind("escape", "stop", "stop", "Stop here; everything is kept", key="esc"),
        bind("t", "not_today", "", "Leave this tune out for today", shown=False),
        bind("o", "only_kind", "", "From here on ask only tunes of this kind", shown=False),
        bind("r", "surprise", "", "Ask another tune in place of this one", shown=False),
        bind("pagedown", "scroll(1)", "", "See more of a long answer", shown=False),
        bind("pageup", "scroll(-1)", "", "See the beginning of a long answer", shown=False),
    ]  # fmt: skip

    def __init__(self, run: RoundRun, planned: Planned) -> None:
        super().__init__()
        self.run = run
        self.planned = planned
        self.answer: Answer | None = None
        self._answered: list[Answer] = []
        self._moved: tuple[float, float] | None = None
        self._marked: Level | None = None
        self._asked_at: float | None = None
        self._key_at = 0.0
        self._enter_at = 0.0
        self._held = False
        self._letter = ""
        self._said: list[Span] = []
        self._first = 0
        self._choices: list[tuple[str, str, str]] = []
        self._cursor = 0
        self._charset = charset_here(getattr(sys.__stdout__, "encoding", None) or "utf-8")

    # The picture.

    def body(self) -> ComposeResult:
        """One sheet; what stands where is worked out for each size."""
        yield Sheet(id="page")

    def on_mount(self) -> None:
        """Ask the first prompt and let the clock be seen."""
        self._sheet = self.query_one("#page", Sheet)
        self.set_interval(0.5, self._tick)
        self._ask()

    def on_resize(self, _: Resize) -> None:
        """Lay the page out anew once the sheet has its new size."""
        self.call_after_refresh(self._draw)

    @property
    def _forms(self) -> tuple[str, ...]:
        return _SHOWN_AS[self.desk.settings.shown_as]

    def _ask(self, answer: Answer | None = None) -> None:
        """Put the present prompt on the screen, or the end of the round."""
        asked = self.run.current
        self._choices = []
        self._first = 0
        if asked is None:
            self._end()
            return
        self.answer = answer or Answer(asked)
        self._marked = self.answer.suggested() if self.answer.shown else None
        self._asked_at = None
        self._draw()
        if not self.answer.shown:
            self.call_after_refresh(self._start_clock)

    def _start_clock(self) -> None:
        self._asked_at = Message().time
        self._tick()

    def _tick(self) -> None:
        """Show the seconds, small, in the head line."""
        answer = self.answer
        if answer is None:
            return
        seconds = answer.seconds if answer.shown else self.elapsed(Message().time)
        clock = "" if seconds is None else f"{seconds:.0f} s"
        self.head(right=f"{self.planned.tuning}  {clock:>5}")

    def elapsed(self, moment: float) -> float | None:
        """Seconds since the prompt was painted; ``None`` before that."""
        return None if self._asked_at is None else max(0.0, moment - self._asked_at)

    def _draw(self) -> None:
        answer = self.answer
        width, height = self._sheet.size
        if not width:
            return
        if answer is None:
            self._draw_end()
            return
        place = self.run.done + 1
        self.head(left=f"{ROUND_NAMES[self.run.kind]} · {place} of {self.run.done + self.run.left}")
        self._tick()
        frame = frame_for(width, height)
        across = width - frame.left - frame.right
        room = frame.room(height)
        if self._choices:
            lines = straying_lines(self._choices, self._cursor, room, across)
        elif answer.shown:
            lines = answer_lines(answer, across, room, self._forms)
        else:
            lines = hint_lines(answer, across, self._forms)
        self._first = max(0, min(self._first, len(lines) - room))
        ladder = ladder_lines(
            answer, across + 2, frame.gap, self._moved, self._marked, self._charset
        )
        self._sheet.show(
            round_page(answer, lines, ladder, self._said, width, height, self._forms, self._first)
        )
        self.refresh_bindings()

    def _draw_end(self) -> None:
        width, height = self._sheet.size
        lines = summary_lines(
            self.run.summary(), self.run.kind, width - 8, height - 2, left=self.run.left
        )
        self._sheet.show([[], [], *([("    ", ""), *row] for row in lines)])

    def _say(self, text: str, role: str = "quiet") -> None:
        self._said = [(text, role)]

    def _tell(self, text: str, role: str = "quiet") -> None:
        self._say(text, role)
        self._draw()

    def on_click(self, event: Click) -> None:
        """A click on a level gives it."""
        height = self._sheet.size.height
        frame = frame_for(self._sheet.size.width, height)
        row = event.screen_y - self._sheet.region.y - ladder_top(frame, height)
        level = 4 - (row - 1) // (frame.gap + 1)
        if row >= 1 and level >= 1 and self.answer is not None:
            self.action_level(level)

    # Keys.

    def on_key(self, event: Key) -> None:
        """Keep the moment of the key itself: a busy screen must not cost the player seconds."""
        if event.key == "enter":
            self._held = event.time - self._enter_at < HELD_SECONDS
            self._enter_at = event.time
        self._key_at = event.time
        if event.key in "abcdefg" and self.answer is not None:
            self._letter = event.key

    def hushed(self) -> frozenset[str]:
        """Levels come after the answer, the way back after the last of them."""
        if self.answer is None:
            return _LEVEL_ACTIONS | {"stop"}
        return frozenset({"enter"}) | (frozenset() if self.answer.shown else _LEVEL_ACTIONS)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer only what can be done at this moment."""
        over = self.answer is None
        shown = self.answer is not None and self.answer.shown
        if action == "undo":
            return bool(self._answered)
        if action == "have":
            return not shown and not over
        if action in {"wrong_key", "stray"}:
            return shown and self.answer is not None and NAME not in self.answer.asked.strands
        if action in {"hint", "skip", "not_today", "surprise"}:
            return not shown and not over
        if action in {"level", "move", "strand", "strand_here", "only_kind"}:
            return not over
        return True

    def action_have(self) -> None:
        """Stop the clock and show the answer."""
        if self.answer is None or self.answer.shown:
            return
        self.answer.show(self.elapsed(self._key_at))
        self._marked = self.answer.suggested()
        self._say("")
        self._draw()

    def action_enter(self) -> None:
        """Show the answer, give the marked level, take the tune strayed into, or leave."""
        if self.answer is None:
            self.dismiss()
        elif self._choices:
            uuid, title, _ = self._choices[self._cursor]
            self._stray_into(uuid, title)
        elif not self.answer.shown:
            self.action_have()
        elif self._held:
            return
        elif self._marked is not None:
            self.action_level(int(self._marked))
        else:
            self._tell("Give a level from 1 to 4.")

    def action_level(self, number: int) -> None:
        """Give a level: to one strand when one was chosen, else to the whole prompt."""
        answer = self.answer
        if answer is None or self._choices:
            return
        if not answer.shown:
            self._tell("Space first: it shows the answer. Then say how it came.")
            return
        level = Level(number)
        if level > answer.cap:
            self._tell(f"A hint was shown: give {int(answer.cap)} or less.", "fading")
            return
        strand = answer.strand
        if answer.take(level):
            self._rate(answer)
        else:
            self._say(f"{strand_words(strand).capitalize()}: {answer.words[level]}.")
            self._draw()

    def _rate(self, answer: Answer) -> None:
        rated = None
        with self.trying():
            rated = self.run.rate(
                dict(answer.levels),
                seconds=answer.seconds,
                hints=answer.hints,
                wrong_key=answer.wrong_key,
                strayed_into=answer.strayed_into[0],
            )
        if rated is not None:
            self._answered.append(answer)
            self._moved = (rated.before, rated.after)
            before, after = in_ten(rated.before), in_ten(rated.after)
            tail = f": {before}, now {after}." if before != after else f": {after}, as before."
            frame = frame_for(*self._sheet.size)
            room = self._sheet.size.width - frame.left - frame.right - width_of(tail)
            title = cell(rated.title, min(room, width_of(bare(rated.title))))
            self._said = [(title, ""), (tail, "quiet")]
            self._ask()
        else:
            answer.again()
            self._draw()

    def action_move(self, step: int) -> None:
        """Mark another level, or another tune of the list."""
        answer = self.answer
        if answer is None:
            return
        if self._choices:
            self._cursor = max(0, min(self._cursor - step, len(self._choices) - 1))
        elif answer.shown:
            number = int(self._marked or (Level.SIT_OUT if step > 0 else Level.KICK_OFF)) + (
                step if self._marked else 0
            )
            self._marked = Level(max(1, min(number, int(answer.cap))))
        self._draw()

    def action_strand_here(self) -> None:
        """The letter just pressed names the start."""
        self.action_strand(self._letter)

    def action_strand(self, letter: str) -> None:
        """The next level is for one strand alone."""
        answer = self.answer
        if answer is None or self._choices:
            return
        strand = strand_of_key(letter)
        if not answer.shown:
            self._say("Space first: it shows the answer. Then say how it came.")
        elif not answer.choose_strand(strand):
            self._say(f"The {strand_words(strand)} is not asked for here.")
        elif answer.strand:
            self._say(f"{strand_words(strand).capitalize()}: which level?", "accent")
        else:
            self._say("")
        self._draw()

    def action_hint(self) -> None:
        """Show one step of hint more; the last shows the answer."""
        answer = self.answer
        if answer is None or answer.shown:
            return
        step = answer.next_hint()
        if not step:
            self._tell("Nothing more is written down to hint with.")
            return
        answer.hints = step
        self._say("A hint was shown: 2 at most.")
        if step == WHOLE:
            answer.show(self.elapsed(self._key_at))
            self._marked = answer.suggested()
        self._draw()

    def action_wrong_key(self) -> None:
        """Mark, or unmark, that it began in another key."""
        if self.answer is not None:
            self.answer.wrong_key = not self.answer.wrong_key
            self._marked = self.answer.suggested()
            self._draw()

    def action_stray(self) -> None:
        """List the tunes it may have turned into: twins first, then those of its kind and key."""
        if self.answer is None:
            return
        if self.answer.strayed_into[0]:
            self._stray_into("", "")
            return
        tune = self.answer.asked.tune
        twins = {twin.tune: twin for twin in self.answer.asked.twins}
        key = tune.key.short if tune.key else ""
        rows = sorted(
            (row for row in self.desk.rows() if row.uuid != tune.uuid),
            key=lambda row: (row.uuid not in twins, row.kind != tune.kind, row.key != key),
        )
        self._choices = [
            (row.uuid, row.title, "begins alike" if row.uuid in twins else f"{row.kind} {row.key}")
            for row in rows
        ]
        self._cursor = 0
        self._say("Up and down, then enter. Esc leaves it." if rows else "There is no other tune.")
        self._draw()

    def _stray_into(self, uuid: str, title: str) -> None:
        if self.answer is not None:
            self.answer.strayed_into = (uuid, title)
            self._choices = []
            self._marked = self.answer.suggested()
            self._say("")
            self._draw()

    def action_scroll(self, pages: int) -> None:
        """Move a long answer, or a long list, by a page."""
        step = max(1, frame_for(*self._sheet.size).room(self._sheet.size.height) - 1)
        if self._choices:
            self.action_move(-pages * step)
        else:
            self._first += pages * step
            self._draw()

    def action_undo(self) -> None:
        """Take the last level back; that prompt is asked again with its answer shown."""
        with self.trying():
            if self._answered and self.run.undo():
                answer = self._answered.pop()
                answer.again()
                self._moved = None
                self._say(f"Taken back: {answer.asked.tune.title}. Give the level again.")
                self._ask(answer)

    def action_skip(self) -> None:
        """Ask this one later."""
        self._change(self.run.skip, "Later in this round.")

    def action_not_today(self) -> None:
        """Leave this tune out for today."""
        self._change(self.run.not_today, "Not today.")

    def action_surprise(self) -> None:
        """Ask another tune in place of this one."""
        self._change(self.run.surprise, "")

    def action_only_kind(self) -> None:
        """Ask only this kind from here on."""
        asked = self.run.current
        if asked is None:
            return
        kind = asked.tune.kind
        if not kind:
            self._tell("This tune has no kind written down.")
            return
        with self.trying():
            self.run.only_kind(kind)
            self._say(f"From here on only this kind: {kind}.")
            self._draw()

    def _change(self, change: object, said: str) -> None:
        with self.trying():
            if callable(change):
                change()
            self._moved = None
            self._say(said)
            self._ask()

    def action_stop(self) -> None:
        """Leave the list, or end the round here."""
        if self._choices:
            self._choices = []
            self._say("")
            self._draw()
        elif self.answer is None:
            self.dismiss()
        else:
            self._end()

    def _end(self) -> None:
        """Say how the round went."""
        summary = None
        with self.trying():
            summary = self.run.stop()
        if summary is None:
            # The levels are in the file; only the end of the round could not be written.
            summary = self.run.summary()
        if not summary.asked:
            self.dismiss()
            return
        self.answer = None
        self.head(left=ROUND_NAMES[self.run.kind], right=self.planned.tuning)
        self._draw_end()
        self.refresh_bindings()
