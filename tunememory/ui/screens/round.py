"""A round: one prompt at a time, two keys a tune, nothing ever typed."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.containers import VerticalScroll
from textual.message import Message
from textual.widgets import Static

from tunememory.tunes.check import NAME, Level, Prompt
from tunememory.ui.actions import bind
from tunememory.ui.answering import WHOLE, Answer, strand_of_key
from tunememory.ui.desk_screen import DeskScreen
from tunememory.ui.drawing_round import (
    answer_lines,
    facts_line,
    hint_lines,
    prompt_lines,
    straying_lines,
)
from tunememory.ui.screens.round_done import ROUND_NAMES, summary_lines
from tunememory.ui.text import bare, cell, inked, joined, plain, width_of
from tunememory.ui.widgets.ladder import Ladder
from tunememory.ui.words import in_ten, strand_words

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.binding import BindingType
    from textual.content import Content
    from textual.events import Key

    from tunememory.service.round_run import RoundRun
    from tunememory.service.views import Planned

_SHOWN_AS = {
    "both": ("letters", "fingers"),
    "letters": ("letters",),
    "fingers": ("fingers",),
}


_LEVELS = "how it came"
_LEVEL_ACTIONS = frozenset(f"level({number})" for number in (1, 2, 3, 4))


class RoundScreen(DeskScreen[None]):
    """Asks the prompts of a round, and says at its end how it went.

    Args:
        run: The round, begun.
        planned: What it was planned as.
    """

    OPENS_AREAS = False
    DEFAULT_CSS = """
    RoundScreen #how, RoundScreen #facts, RoundScreen #said {
        height: 1; color: $quiet; text-wrap: nowrap; text-overflow: ellipsis;
    }
    RoundScreen #how { margin: 1 2 0 2; text-align: center; }
    RoundScreen #asked { height: 3; margin: 0 2; content-align: center top; text-align: center; }
    RoundScreen #facts { margin: 0 2; text-align: center; }
    RoundScreen #room {
        height: 1fr; margin: 1 2 0 6; scrollbar-size-vertical: 1; overflow-x: hidden;
    }
    RoundScreen #answer { height: auto; }
    RoundScreen Ladder { margin: 0 4 0 4; }
    RoundScreen #said { margin: 0 6 1 6; }

    RoundScreen.-narrow #room { margin: 1 1 0 2; }
    RoundScreen.-narrow Ladder { margin: 0 1 0 0; }
    RoundScreen.-narrow #said { margin: 0 2 1 2; }
    RoundScreen.-short #how { margin: 0 2; }
    RoundScreen.-short #room { margin: 0 1 0 2; }
    RoundScreen.-short Ladder { margin: 0 1 0 0; }
    RoundScreen.-short #said { margin: 0 2 0 2; }
    RoundScreen.-low #how, RoundScreen.-low #facts { display: none; }
    RoundScreen.-low #asked { height: 1; }

    RoundScreen.-wide #room { margin: 1 16 0 18; }
    RoundScreen.-wide Ladder { margin: 0 16 0 16; }
    RoundScreen.-wide #said { margin: 0 16 1 18; }
    RoundScreen.-tall #how { margin: 4 2 1 2; }
    RoundScreen.-tall #asked { height: 4; }
    RoundScreen.-tall Ladder { height: 9; }

    RoundScreen.-over #how, RoundScreen.-over #asked, RoundScreen.-over #facts,
    RoundScreen.-over Ladder, RoundScreen.-over #said { display: none; }
    RoundScreen.-over #room { margin: 2 4 0 4; }
    """
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
        self._choices: list[tuple[str, str, str]] = []
        self._cursor = 0

    # The picture.

    def body(self) -> ComposeResult:
        """The question, what it is about, the answer, the ladder, and one line of words."""
        yield Static(id="how")
        yield Static(id="asked")
        yield Static(id="facts")
        with VerticalScroll(id="room", can_focus=False):
            yield Static(id="answer")
        yield Ladder()
        yield Static(id="said")

    def on_mount(self) -> None:
        """Ask the first prompt and let the clock be seen."""
        self.set_interval(0.5, self._tick)
        self._ask()

    def on_resize(self) -> None:
        """Lay the lines out anew once the parts of the screen have their new sizes."""
        self.call_after_refresh(self._draw)

    @property
    def _forms(self) -> tuple[str, ...]:
        return _SHOWN_AS[self.desk.settings.shown_as]

    def _ask(self, answer: Answer | None = None) -> None:
        """Put the present prompt on the screen, or the end of the round."""
        asked = self.run.current
        self._choices = []
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
        self.head(right=f"{self.planned.tuning}   {clock}" if clock else self.planned.tuning)

    def elapsed(self, moment: float) -> float | None:
        """Seconds since the prompt was painted; ``None`` before that."""
        return None if self._asked_at is None else max(0.0, moment - self._asked_at)

    def _draw(self) -> None:
        answer = self.answer
        if answer is None or not self.is_mounted:
            return
        place = self.run.done + 1
        name = ROUND_NAMES[self.run.kind]
        self.head(left=f"{name} · {place} of {self.run.done + self.run.left}")
        self._tick()
        asked = self.query_one("#asked", Static)
        self._put("#how", self._question(answer))
        self._put(
            "#asked",
            inked(prompt_lines(answer, asked.size.width, max(1, asked.size.height), self._forms)),
        )
        self._put("#facts", plain(facts_line(answer)))
        room = self.query_one("#room", VerticalScroll)
        width, height = room.size.width - 1, room.size.height
        if self._choices:
            lines = straying_lines(self._choices, self._cursor, height, width)
        elif answer.shown:
            lines = answer_lines(answer, width, height, self._forms)
        else:
            lines = hint_lines(answer, width, self._forms)
        self.query_one("#answer", Static).update(inked(lines))
        self.query_one(Ladder).show(answer, self._moved, self._marked)
        self.refresh_bindings()

    def _put(self, where: str, content: Content) -> None:
        """Change a line of fixed height; nothing is laid out anew."""
        self.query_one(where, Static).update(content, layout=False)

    def _question(self, answer: Answer) -> Content:
        if answer.asked.prompt is Prompt.WHAT:
            return plain(Prompt.WHAT.value)
        strands = ", ".join(strand_words(strand) for strand in answer.asked.strands)
        return plain(f"{Prompt.HOW.value}  {strands}")

    def _say(self, text: str, style: str = "") -> None:
        self._put("#said", plain(text, style))

    # Keys.

    def on_key(self, event: Key) -> None:
        """Keep the moment of the key itself: a busy screen must not cost the player seconds."""
        self._key_at = event.time
        if event.key in "abcdefg" and self.answer is not None:
            self._letter = event.key

    _letter = ""

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
        elif self._marked is not None:
            self.action_level(int(self._marked))
        else:
            self._say("Give a level from 1 to 4.")

    def action_level(self, number: int) -> None:
        """Give a level: to one strand when one was chosen, else to the whole prompt."""
        answer = self.answer
        if answer is None or self._choices:
            return
        if not answer.shown:
            self._say("Space first: it shows the answer. Then say how it came.")
            return
        level = Level(number)
        if level > answer.cap:
            self._say(f"A hint was shown: {int(answer.cap)} at most.", "$fading")
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
            room = self.query_one("#said").size.width - width_of(tail)
            title = cell(rated.title, min(room, width_of(bare(rated.title))))
            self._put("#said", joined((title, "$foreground"), tail))
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
            self._say(f"{strand_words(strand).capitalize()}: which level?", "$accent")
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
            self._say("Nothing more is written down to hint with.")
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
        room = self.query_one("#room", VerticalScroll)
        if self._choices:
            self.action_move(-pages * max(1, room.size.height - 2))
        elif pages > 0:
            room.scroll_page_down(animate=False)
        else:
            room.scroll_page_up(animate=False)

    def action_undo(self) -> None:
        """Take the last level back; that prompt is asked again with its answer shown."""
        with self.trying():
            if self._answered and self.run.undo():
                answer = self._answered.pop()
                answer.again()
                self._moved = None
                self.remove_class("-over")
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
            self._say("This tune has no kind written down.")
            return
        with self.trying():
            self.run.only_kind(kind)
            self._say(f"Only {kind}s from here on.")
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
        self.add_class("-over")
        self.head(left=ROUND_NAMES[self.run.kind], right=self.planned.tuning)
        width, height = self.size.width - 9, self.size.height - 4
        lines = summary_lines(summary, self.run.kind, width, height)
        self.query_one("#answer", Static).update(inked(lines))
        self.refresh_bindings()
