"""A round: one prompt at a time, two keys a tune, nothing ever typed."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.message import Message

from tunememory.library.overview import tune_rows
from tunememory.library.starts import sound_of
from tunememory.recall.check import NAMED, Level, Prompt, strand_words
from tunememory.rounds.answer import (
    NOTHING_TO_HINT,
    ONLY_THE_NAME,
    SHOWN,
    SHOWN_ALREADY,
    WHOLE,
    stray_choices,
)
from tunememory.text import charset_here
from tunememory.ui.actions import bind
from tunememory.ui.library.drawing import LETTERS, STAFF, STRINGS, next_drawn
from tunememory.ui.round.drawing import (
    ROUND_NAMES,
    answer_lines,
    frame_for,
    hint_lines,
    ladder_lines,
    pictured_lines,
    pictured_page,
    rated_line,
    round_page,
    straying_lines,
    summary_lines,
)
from tunememory.ui.round.drawing import room as pictured_room
from tunememory.ui.screen import HearingScreen
from tunememory.ui.widgets import Sheet

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from textual.app import ComposeResult
    from textual.binding import BindingType
    from textual.events import Click, Key, Resize

    from tunememory.rounds.answer import Answer
    from tunememory.rounds.running import RoundRun
    from tunememory.ui.actions import Act
    from tunememory.ui.round.drawing import Forms, Frame
    from tunememory.ui.text import Span


HAVE = "I have it"
HOW_IT_CAME = "how it came"
ANSWER_FIRST = "Enter first: it shows the answer. Then say how it came."
_MARK = "Mark how it came: the level above, the level below"
_ENTER = "I have it: stop the clock and show the answer; then give the marked level"
_LEVEL_ACTIONS = frozenset({"move(1)"}) | frozenset(f"level({number})" for number in (1, 2, 3, 4))

_WORDED = {
    "s": "skip", "t": "not_today", "r": "surprise", "h": "hint", "w": "wrong_key", "x": "stray",
    "p": "hear",
}  # fmt: skip
"""Keys that say why they do nothing, and what they do."""

KEYS: list[BindingType] = [
    bind("up", "move(1)", "", _MARK, key="↑↓", group=HOW_IT_CAME),
    bind("down", "move(-1)", "", _MARK, key="↑↓", shown=False),
    bind("enter", "enter", "back to Today", _ENTER, key="⏎"),
    bind("space", "enter", "", _ENTER, key="space", shown=False),
    bind("4", "level(4)", "", "Would kick it off (named it)", group=HOW_IT_CAME),
    bind("3", "level(3)", "", "Would find it (it came to me)", group=HOW_IT_CAME),
    bind("2", "level(2)", "", "Would join in (with a nudge)", group=HOW_IT_CAME),
    bind("1", "level(1)", "", "Would sit it out (no name)", group=HOW_IT_CAME),
    bind("h", "hint", "hint", "Show a hint, one step more each time; the level is 2 at most"),
    bind("w", "wrong_key", "wrong key", "Mark that it began in another key"),
    bind("x", "stray", "strayed", "Mark that it turned into another tune"),
    bind("p", "hear", "hear", "Hear the start, or stop it"),
    bind("v", "view", "", "Show starts on the staff, on the strings, or in letters", shown=False),
    bind("k", "strand('k')", "", "The next level is for the key alone", shown=False),
    bind(
        "a,b,c,d,e,f,g", "strand_here", "", "The next level is for that start alone",
        shown=False, key="a b c …",
    ),
    bind("escape", "stop", "stop", "Stop here; everything is kept", key="esc"),
    bind("u", "undo", "undo", "Take the last level back and ask that one again"),
    bind("s", "skip", "skip", "Ask this one later in the round"),
    bind("t", "not_today", "", "Leave this tune out for today", shown=False),
    bind("o", "only_kind", "", "From here on ask only tunes of this kind", shown=False),
    bind("r", "surprise", "", "Ask another tune in place of this one", shown=False),
    bind("pagedown", "scroll(1)", "", "See more of a long answer", shown=False),
    bind("pageup", "scroll(-1)", "", "See the beginning of a long answer", shown=False),
]  # fmt: skip
"""Every key, in the order of the key line and the help."""


def why_not(key: str, answer: Answer | None, *, undoes: bool) -> str:
    """Return why a key does nothing just now, empty when it does something or is none of ours.

    Args:
        key: Its name.
        answer: The prompt, or ``None`` when the round is over.
        undoes: Whether there is a level to take back.
    """
    if key == "u" and not undoes:
        return "There is no level to take back yet."
    if answer is None or possible(_WORDED.get(key, ""), answer):
        return ""
    if key in {"w", "x"}:
        return ONLY_THE_NAME if answer.shown else ANSWER_FIRST
    if key == "p":
        return "Hearing it now would give it away." if answer.parts else "No start is written down."
    return SHOWN_ALREADY


def possible(action: str, answer: Answer | None) -> bool:
    """Whether an action means something just now.

    Args:
        action: Its name, without arguments.
        answer: The prompt, or ``None`` when the round is over.
    """
    shown = answer is not None and answer.shown
    if action in {"wrong_key", "stray"}:
        return shown and answer is not None and answer.may_be_marked
    if action == "hear":
        return answer is not None and answer.may_be_heard
    if action in {"hint", "skip", "not_today", "surprise"}:
        return answer is not None and not shown
    if action in {"level", "move", "strand", "strand_here", "only_kind", "view"}:
        return answer is not None
    return True


_WAYS = {LETTERS: "in letters", STAFF: "on the staff", STRINGS: "on the strings"}
_SHOWN_AS = {
    "both": ("letters", "fingers"),
    "letters": ("letters",),
    "fingers": ("fingers",),
}


class RoundSheet(Sheet):
    """Draws a prompt and all that belongs to it.

    Attributes:
        moved: Chance of the tune before, before and after its level.
        marked: The level that Enter gives.
        said: The line of words at the bottom.
        choices: Tunes to choose from: identity, title and a word about each; empty for none.
        cursor: The choice that Enter takes.
        first: First row of a long answer in sight.
    """

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self.moved: tuple[float, float] | None = None
        self.marked: Level | None = None
        self.said: list[Span] = []
        self.choices: list[tuple[str, str, str]] = []
        self.cursor = 0
        self.first = 0
        # Drawn starts have the page to themselves.
        self._alone = False
        self._charset = charset_here()

    def say(self, text: str, role: str = "quiet") -> None:
        """Put words on the line at the bottom; they are seen with the next drawing."""
        self.said = [(text, role)]

    @property
    def frame(self) -> Frame:
        """How the rows are shared out at this size."""
        return frame_for(*self.size)

    @property
    def room(self) -> int:
        """Rows for an answer."""
        return pictured_room(self.size.height) if self._alone else self.frame.room

    def draw(self, answer: Answer, forms: Forms, drawn: str = LETTERS) -> None:
        """Draw the prompt as far as it is answered, its starts in one of ``DRAWN``."""
        if not self.size.width:
            return
        frame = self.frame
        across, room = frame.across, frame.room
        pictured: list[list[Span]] = []
        if drawn != LETTERS and not self.choices:
            pictured = pictured_lines(answer, across, forms, drawn)
        self._alone = bool(pictured) and not (answer.shown and len(pictured) <= room)
        if self._alone:
            self._draw_alone(answer, forms, drawn)
            return
        if self.choices:
            lines = straying_lines(self.choices, self.cursor, room, across)
        elif pictured:
            lines = pictured
        elif answer.shown:
            lines = answer_lines(answer, across, room, forms)
        else:
            lines = hint_lines(answer, across, forms)
        ladder = ladder_lines(answer, across + 2, frame.gap, self.moved, self.marked, self._charset)
        self.show(round_page(answer, self._in_sight(lines), ladder, self.said, frame, forms))

    def _draw_alone(self, answer: Answer, forms: Forms, drawn: str) -> None:
        """Draw starts too tall to stand over the ladder: it gives way to the marked level."""
        width, height = self.size
        lines = pictured_lines(answer, width - 4, forms, drawn)
        said = self.said
        if answer.shown and self.marked is not None:
            said = [(f"▸ {int(self.marked)} {answer.words[self.marked]}   ", "bright"), *said]
        self.show(pictured_page(answer, self._in_sight(lines), said, width, height))

    def _in_sight(self, lines: Sequence[list[Span]]) -> Sequence[list[Span]]:
        """What there is room for of a long answer, from the row that was moved to."""
        self.first = max(0, min(self.first, len(lines) - self.room))
        return lines[self.first : self.first + self.room]

    def draw_end(self, lines: Sequence[list[Span]]) -> None:
        """Draw the end of the round."""
        self.show([[], [], *([("    ", ""), *row] for row in lines)])

    def mark(self, answer: Answer, step: int) -> None:
        """Mark the level above (1) or below (-1), or another tune of the list."""
        if self.choices:
            self.cursor = max(0, min(self.cursor - step, len(self.choices) - 1))
        elif self.marked is not None:
            self.marked = Level(max(1, min(self.marked + step, int(answer.cap))))
        else:
            self.marked = Level.SIT_OUT if step > 0 else answer.cap

    def level_at(self, screen_y: int) -> Level | None:
        """Return the level that stands in a row of the screen."""
        if self._alone:
            return None
        row = screen_y - self.region.y - self.frame.ladder
        number = len(Level) - (row - 1) // (self.frame.gap + 1)
        return Level(number) if row >= 1 and number >= 1 else None


HELD_SECONDS = 0.1
"""Enters, or spaces, closer than this are one key held down: it must not run through a round."""


class RoundScreen(HearingScreen[None]):
    """Asks the prompts of a round, and says at its end how it went.

    Args:
        run: The round, begun; it holds the answers.
    """

    OPENS_AREAS = False
    BINDINGS: ClassVar[list[BindingType]] = KEYS

    def __init__(self, run: RoundRun) -> None:
        super().__init__()
        self.run = run
        self._sheet = RoundSheet(id="page")
        self._over = False
        self._drawn = LETTERS
        self._silent = False
        self._asked_at: float | None = None
        self._key_at = 0.0
        self._enter_at = 0.0
        self._held = False
        self._letter = ""

    @property
    def answer(self) -> Answer | None:
        """The prompt as far as it is answered; ``None`` once the end of the round is shown."""
        return None if self._over else self.run.answer

    def body(self) -> ComposeResult:
        """One sheet; what stands where is worked out for each size."""
        yield self._sheet

    def on_mount(self) -> None:
        """Ask the first prompt and let the clock be seen; nothing said before lies over it."""
        self.app.clear_notifications()
        self.set_interval(0.5, self._tick)
        self._ask()

    def on_resize(self, _: Resize) -> None:
        """Lay the page out anew once the sheet has its new size."""
        self.call_after_refresh(self._draw)

    def _ask(self) -> None:
        """Put the present prompt on the screen, or the end of the round."""
        self.hush()
        self._sheet.choices = []
        self._sheet.first = 0
        answer = self.run.answer
        if answer is None:
            self.end()
            return
        self._over = False
        self._sheet.marked = answer.suggested() if answer.shown else None
        self._asked_at = None
        if not answer.shown:
            if answer.asked.prompt is Prompt.WHAT and answer.parts and not self._silent:
                answer.asked_by = self.session.settings.asked_by
            self.call_after_refresh(self._start_clock)
        self._draw()

    def _start_clock(self) -> None:
        self._asked_at = Message().time
        self._sound_prompt()
        self._tick()

    def _tick(self) -> None:
        """Show the seconds, small, in the head line."""
        answer = self.answer
        if answer is None:
            return
        # A prompt that is not painted yet shows the clock as it will stand then, so that starting
        # it paints nothing a second time.
        seconds = answer.seconds if answer.shown else self.elapsed(Message().time) or 0.0
        clock = "" if seconds is None else f"{seconds:.0f} s"
        self.head(right=f"{self.run.planned.tuning}  {clock:>5}")

    def elapsed(self, moment: float) -> float | None:
        """Seconds since the prompt was painted; ``None`` before that."""
        return None if self._asked_at is None else max(0.0, moment - self._asked_at)

    def _draw(self) -> None:
        answer = self.answer
        if answer is None:
            self._draw_end()
            return
        place = self.run.done + 1
        self.head(left=f"{ROUND_NAMES[self.run.kind]} · {place} of {self.run.done + self.run.left}")
        self._tick()
        self._sheet.draw(answer, _SHOWN_AS[self.session.settings.shown_as], self._drawn)
        self.refresh_bindings()

    def _draw_end(self) -> None:
        width, height = self._sheet.size
        summary, kind, left = self.run.summary(), self.run.kind, self.run.left
        self._sheet.draw_end(summary_lines(summary, kind, width - 8, height - 2, left=left))

    def _tell(self, text: str, role: str = "quiet") -> None:
        self._sheet.say(text, role)
        self._draw()

    def hushed(self) -> frozenset[str]:
        """What the key line leaves out: levels before the answer, stopping after the end."""
        if self.answer is None:
            return _LEVEL_ACTIONS | {"stop"}
        return frozenset() if self.answer.shown else _LEVEL_ACTIONS

    def word_of(self, act: Act) -> str:
        """Name what Enter does at this moment."""
        if act.action != "enter" or self.answer is None:
            return super().word_of(act)
        return HOW_IT_CAME if self.answer.shown else HAVE

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer only what can be done at this moment."""
        return bool(self.run.done) if action == "undo" else possible(action, self.answer)

    def on_click(self, event: Click) -> None:
        """A click on a level gives it."""
        level = self._sheet.level_at(event.screen_y)
        if level is not None and self.answer is not None:
            self.action_level(int(level))

    def on_key(self, event: Key) -> None:
        """Keep the moment of the key itself: a busy screen must not cost the player seconds."""
        if event.key in {"enter", "space"}:
            self._held = event.time - self._enter_at < HELD_SECONDS
            self._enter_at = event.time
        self._key_at = event.time
        if event.key in "abcdefg" and self.answer is not None:
            self._letter = event.key
        why = why_not(event.key, self.answer, undoes=bool(self.run.done))
        if why and self.answer is not None and not self._sheet.choices:
            self._tell(why)

    def _have(self, answer: Answer) -> None:
        """Stop the clock and show the answer."""
        self.hush()
        answer.show(self.elapsed(self._key_at))
        self._sheet.marked = answer.suggested()
        self._sheet.say("")
        self._draw()

    def action_enter(self) -> None:
        """Show the answer, give the marked level, take the tune strayed into, or leave."""
        if self.answer is None:
            self.dismiss()
        elif self._sheet.choices:
            uuid, title, _ = self._sheet.choices[self._sheet.cursor]
            self._stray_into(uuid, title)
        elif not self.answer.shown:
            self._have(self.answer)
        elif self._held:
            return
        elif self._sheet.marked is not None:
            self.action_level(int(self._sheet.marked))
        else:
            self._tell("Up and down mark how it came, enter takes it.")

    def action_level(self, number: int) -> None:
        """Give a level: to one strand when one was chosen, else to the whole prompt."""
        answer = self.answer
        if answer is None or self._sheet.choices:
            return
        if not answer.shown:
            self._tell(ANSWER_FIRST)
            return
        level = Level(number)
        if level > answer.cap:
            self._tell(answer.cap_words, "fading")
            return
        strand = answer.strand
        if answer.take(level):
            self._rate(answer)
        else:
            self._sheet.say(f"{strand_words(strand).capitalize()}: {answer.words[level]}.")
            self._draw()

    def _rate(self, answer: Answer) -> None:
        rated = None
        with self.trying():
            rated = self.run.rate()
        if rated is not None:
            self._sheet.moved = (rated.before, rated.after)
            self._sheet.said = rated_line(answer.asked, rated, self._sheet.frame.across)
            self._ask()
        else:
            self._draw()

    def action_move(self, step: int) -> None:
        """Mark another level, or another tune of the list."""
        answer = self.answer
        if answer is None:
            return
        if answer.shown:
            self._sheet.mark(answer, step)
            self._draw()
        else:
            self._tell(ANSWER_FIRST)

    def action_strand_here(self) -> None:
        """The letter just pressed names the start."""
        self.action_strand(self._letter)

    def action_strand(self, letter: str) -> None:
        """The next level is for one strand alone."""
        answer = self.answer
        if answer is None or self._sheet.choices:
            return
        strand = answer.strand_of(letter)
        if not answer.shown:
            self._sheet.say(ANSWER_FIRST)
        elif not strand:
            whole = (one for one in NAMED if one.startswith(letter))
            named = strand_words(next(whole, letter.upper()))
            self._sheet.say(f"The {named} is not asked for here.")
        else:
            answer.choose_strand(strand)
            asks = f"{strand_words(strand).capitalize()}: which level?" if answer.strand else ""
            self._sheet.say(asks, "accent")
        self._draw()

    def action_hint(self) -> None:
        """Show one step of hint more; the last shows the answer."""
        answer = self.answer
        if answer is None or answer.shown:
            return
        if not answer.hint(self.elapsed(self._key_at)):
            self._tell(NOTHING_TO_HINT)
            return
        self._sheet.say("A hint was shown: 2 at most.")
        self._sheet.marked = answer.suggested() if answer.hints == WHOLE else None
        self._draw()

    def action_wrong_key(self) -> None:
        """Mark, or unmark, that it began in another key."""
        if self.answer is not None:
            self.answer.wrong_key = not self.answer.wrong_key
            self._sheet.marked = self.answer.suggested()
            self._draw()

    def action_stray(self) -> None:
        """List the tunes it may have turned into: twins first, then those of its kind and key."""
        if self.answer is None:
            return
        if self.answer.strayed_into[0]:
            self._stray_into("", "")
            return
        self._sheet.choices = stray_choices(self.answer.asked, tune_rows(self.session))
        found = bool(self._sheet.choices)
        self._sheet.cursor = 0
        self._sheet.say(
            "Up and down, then enter. Esc leaves it." if found else "There is no other tune."
        )
        self._draw()

    def _stray_into(self, uuid: str, title: str) -> None:
        if self.answer is not None:
            self.answer.strayed_into = (uuid, title)
            self._sheet.choices = []
            self._sheet.marked = self.answer.suggested()
            self._sheet.say("")
            self._draw()

    def action_scroll(self, pages: int) -> None:
        """Move a long answer, or a long list, by a page."""
        step = max(1, self._sheet.room - 1)
        if self._sheet.choices:
            self.action_move(-pages * step)
        else:
            self._sheet.first += pages * step
            self._draw()

    def action_view(self) -> None:
        """Show starts in the next way, from here on: on the staff, on the strings, in letters."""
        if self.answer is not None:
            self._drawn = next_drawn(self._drawn, self.answer.asked.starts)
            self._sheet.first = 0
            self._tell(f"Starts are shown {_WAYS[self._drawn]}.")

    def _sound_prompt(self) -> None:
        """Let a start that is asked by ear be heard; the clock waits until it was."""
        answer = self.answer
        if answer is None or answer.shown or answer.asked_by == SHOWN:
            return
        seconds = self._hear(answer)
        if answer.by_ear and self._asked_at is not None:
            # Nobody can name what she has not heard yet.
            self._asked_at += seconds

    def action_hear(self) -> None:
        """Hear the starts of this prompt, or stop."""
        if self.sounds:
            self.hush()
        elif self.answer is not None:
            self._hear(self.answer)

    def _hear(self, answer: Answer) -> float:
        """Let the starts of a prompt be heard; return how long they take, in seconds."""
        with self.trying():
            sound = sound_of(answer.asked.tune, self.session.settings, answer.parts)
            self.hear(sound)
            return sound.seconds
        return 0.0

    def tell_of_sound(self, text: str) -> None:
        """Say it on the line of words."""
        self._tell(text)

    def sound_failed(self, why: str) -> None:
        """Show what cannot be heard, here and for the rest of the round."""
        if self.answer is not None and not self.answer.shown:
            self._silent = True
            self.answer.asked_by = SHOWN
            self._asked_at = Message().time
        self.tell_of_sound(why)

    def action_undo(self) -> None:
        """Take the last level back; that prompt is asked again with its answer shown."""
        with self.trying():
            if self.run.undo() and self.run.current is not None:
                self._sheet.moved = None
                title = self.run.current.tune.title
                self._sheet.say(f"Taken back: {title}. Give the level again.")
                self._ask()

    def action_skip(self) -> None:
        """Ask this one later."""
        if self.run.left < 2:
            self._tell("This is the last one: nothing is left to ask before it.")
        else:
            self._change(self.run.skip, "Later in this round.")

    def action_not_today(self) -> None:
        """Leave this tune out for today."""
        self._change(self.run.not_today, "Not today.")

    def action_surprise(self) -> None:
        """Ask another tune in place of this one."""
        before = self.run.current
        self._change(self.run.surprise, "")
        if self.run.current is before:
            self._tell("There is no other tune to ask just now.")

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
            self._sheet.say(f"From here on only this kind: {kind}.")
            self._draw()

    def _change(self, change: Callable[[], None], said: str) -> None:
        with self.trying():
            change()
            self._sheet.moved = None
            self._sheet.say(said)
            self._ask()

    def action_stop(self) -> None:
        """Leave the list, or end the round here."""
        if self._sheet.choices:
            self._sheet.choices = []
            self._sheet.say("")
            self._draw()
        elif self.answer is None:
            self.dismiss()
        else:
            self.end()

    def end(self) -> None:
        """Say how the round went."""
        self.hush()
        summary = None
        with self.trying():
            summary = self.run.stop()
        if summary is None:
            # The levels are in the file; only the end of the round could not be written.
            summary = self.run.summary()
        if not summary.asked:
            self.dismiss()
            return
        self._over = True
        self.head(left=ROUND_NAMES[self.run.kind], right=self.run.planned.tuning)
        self._draw_end()
        self.refresh_bindings()
