"""A round: one prompt at a time, two keys a tune, nothing ever typed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.tunes.check import Level
from tunememory.ui.answering import WHOLE, strand_of_key, stray_choices
from tunememory.ui.drawing_rated import rated_line
from tunememory.ui.screens.round_done import ROUND_NAMES
from tunememory.ui.screens.round_keys import ANSWER_FIRST, why_not
from tunememory.ui.screens.round_shown import RoundShown
from tunememory.ui.words import strand_words

if TYPE_CHECKING:
    from textual.events import Click, Key

    from tunememory.service.round_run import RoundRun
    from tunememory.service.views import Planned
    from tunememory.ui.answering import Answer

HELD_SECONDS = 0.1
"""Enters, or spaces, closer than this are one key held down: it must not run through a round."""


class RoundScreen(RoundShown):
    """Asks the prompts of a round, and says at its end how it went.

    Args:
        run: The round, begun.
        planned: What it was planned as.
    """

    def __init__(self, run: RoundRun, planned: Planned) -> None:
        super().__init__(run, planned)
        self._key_at = 0.0
        self._enter_at = 0.0
        self._held = False
        self._letter = ""

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
        why = why_not(event.key, self.answer, undoes=bool(self._answered))
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
            self._tell(f"A hint was shown: give {int(answer.cap)} or less.", "fading")
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
            rated = self.run.rate(
                dict(answer.rated),
                seconds=answer.seconds,
                hints=answer.hints,
                wrong_key=answer.wrong_key,
                strayed_into=answer.strayed_into[0],
            )
        if rated is not None:
            self._answered.append(answer)
            self._sheet.moved = (rated.before, rated.after)
            self._sheet.said = rated_line(answer.asked, rated, self._sheet.across)
            self._ask()
        else:
            answer.again()
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
        strand = strand_of_key(letter)
        if not answer.shown:
            self._sheet.say(ANSWER_FIRST)
        elif not answer.choose_strand(strand):
            self._sheet.say(f"The {strand_words(strand)} is not asked for here.")
        elif answer.strand:
            self._sheet.say(f"{strand_words(strand).capitalize()}: which level?", "accent")
        else:
            self._sheet.say("")
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
        self._sheet.say("A hint was shown: 2 at most.")
        if step == WHOLE:
            answer.show(self.elapsed(self._key_at))
            self._sheet.marked = answer.suggested()
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
        self._sheet.choices = stray_choices(self.answer.asked, self.desk.rows())
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

    def action_undo(self) -> None:
        """Take the last level back; that prompt is asked again with its answer shown."""
        with self.trying():
            if self._answered and self.run.undo():
                answer = self._answered.pop()
                answer.again()
                self._sheet.moved = None
                self._sheet.say(f"Taken back: {answer.asked.tune.title}. Give the level again.")
                self._ask(answer)

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

    def _change(self, change: object, said: str) -> None:
        with self.trying():
            if callable(change):
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
        self.answer = None
        self.head(left=ROUND_NAMES[self.run.kind], right=self.planned.tuning)
        self._draw_end()
        self.refresh_bindings()
