"""Players of sound that play nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable


class FakePlayer:
    """Plays nothing; a test says when a sound is over."""

    def __init__(self) -> None:
        self.playing = False
        self.wavs: list[bytes] = []
        self.stops = 0
        self.ended: Callable[[str], None] = lambda _: None

    def start(self, make: Callable[[], bytes], ended: Callable[[str], None]) -> None:
        self.playing = True
        self.wavs.append(make())
        self.ended = ended

    def stop(self) -> None:
        self.stops += self.playing
        self.playing = False

    def over(self, why: str = "") -> None:
        self.playing = False
        self.ended(why)


class Players:
    """The players that screens made, in their order."""

    def __init__(self) -> None:
        self.made: list[FakePlayer] = []

    def new(self) -> FakePlayer:
        self.made.append(FakePlayer())
        return self.made[-1]

    @property
    def last(self) -> FakePlayer:
        return self.made[-1]
