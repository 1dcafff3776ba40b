"""A screen on which starts can be heard. One sound at a time; leaving the screen stops it."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING

from textual.message import Message

from tunememory.library.sound import sound_caution
from tunememory.ui.screen import ResultT, SessionScreen
from tunememory.ui.text import say

if TYPE_CHECKING:
    from tunememory.library.sound import Sound
    from tunememory.music.sound.player import Player


class HearingScreen(SessionScreen[ResultT]):
    """A session screen with a player, which is made when something is first to be heard."""

    class SoundOver(Message):
        """A sound is over by itself.

        Attributes:
            sound: Which one.
            why: Why nothing was heard; empty when all went well.
        """

        def __init__(self, sound: Sound, why: str) -> None:
            super().__init__()
            self.sound = sound
            self.why = why

    _player: Player | None = None
    _heard: Sound | None = None

    @property
    def sounds(self) -> bool:
        """Whether something is to be heard just now."""
        return self._player is not None and self._player.playing

    def hear(self, sound: Sound) -> None:
        """Let a sound be heard in place of any other; returns at once."""
        if self._player is None:
            from tunememory.music.sound.player import Player  # noqa: PLC0415 - only to be heard

            self._player = Player()
        with self.trying():
            caution = sound_caution(self.session)
            if caution:
                self.tell_of_sound(caution)
        self._heard = sound

        def over(why: str) -> None:
            # On another thread, and the app may have ended meanwhile.
            with suppress(RuntimeError):
                self.post_message(self.SoundOver(sound, why))

        self._player.start(sound.wav, over)

    def hush(self) -> None:
        """Stop what is heard."""
        self._heard = None
        if self._player is not None:
            self._player.stop()

    def tell_of_sound(self, text: str) -> None:
        """Say one line about sound."""
        say(self.tune_app, text)

    def sound_failed(self, why: str) -> None:
        """Say why nothing was heard."""
        self.tell_of_sound(why)

    def on_hearing_screen_sound_over(self, message: SoundOver) -> None:
        """Say why nothing was heard, unless it is no longer waited for."""
        message.stop()
        if message.sound is self._heard:
            self._heard = None
            if message.why:
                self.sound_failed(message.why)

    def on_screen_suspend(self) -> None:
        """Be silent under another screen."""
        self.hush()

    def on_unmount(self) -> None:
        """Be silent once left."""
        self.hush()
