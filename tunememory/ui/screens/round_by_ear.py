"""What a round lets be heard: the start to be named, and the starts of an answer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.message import Message

from tunememory.tunes.check import Prompt
from tunememory.ui.answering import SHOWN, Answer
from tunememory.ui.hearing import HearingScreen

if TYPE_CHECKING:
    from tunememory.service.views import Asked


class RoundByEar(HearingScreen[None]):
    """The part of a round that has to do with sound."""

    answer: Answer | None = None
    _asked_at: float | None = None
    _silent = False

    def tell_of_sound(self, text: str) -> None:
        """Say it where the round says things."""
        raise NotImplementedError

    def answer_to(self, asked: Asked) -> Answer:
        """Return an answer that is still open; a start to be named may be asked by ear."""
        answer = Answer(asked)
        if asked.prompt is Prompt.WHAT and answer.parts and not self._silent:
            answer.asked_by = self.desk.settings.asked_by
        return answer

    def sound_prompt(self) -> None:
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
            sound = self.desk.sound(answer.asked.tune, answer.parts)
            self.hear(sound)
            return sound.seconds
        return 0.0

    def sound_failed(self, why: str) -> None:
        """Show what cannot be heard, here and for the rest of the round."""
        if self.answer is not None and not self.answer.shown:
            self._silent = True
            self.answer.asked_by = SHOWN
            self._asked_at = Message().time
        self.tell_of_sound(why)
