"""No key is lost that is typed while the app is still busy with an earlier one."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple
from weakref import WeakKeyDictionary

from textual.app import App
from textual.events import Key

if TYPE_CHECKING:
    from textual import events
    from textual.message_pump import MessagePump
    from textual.screen import Screen

LONGEST_WAIT = 0.5
"""Seconds after which a key is given its turn, whatever became of those before it."""


class _Handed(NamedTuple):
    """A key that was handed on, to whom, and the screen that was on top then."""

    key: Key
    to: MessagePump
    screen: Screen[object]


class KeysInOrder(App[int]):
    """An app whose keys go where they belong, in the order they were typed.

    Textual hands a key to what is on top when it comes in, and looks at the bindings only when it
    has come back from there. So a key typed right after one that opens another screen still goes
    to the old one. Here it is handed on to the new one, unless the old one had a use for it, and
    later keys wait for that. Keys that come before anything can be done with them wait as well.
    """

    def __init__(self, *, ansi_color: bool | None = None) -> None:
        super().__init__(ansi_color=ansi_color)
        self._early: list[Key] = []
        self._last: _Handed | None = None
        self._typed_on: WeakKeyDictionary[Key, Screen[object]] = WeakKeyDictionary()

    @property
    def hears(self) -> bool:
        """Whether anything can be done with a key yet; then ``hear_early_keys`` is called."""
        return True

    def hear_early_keys(self) -> None:
        """Give the keys that had to wait their turn, after what is under way now."""
        self.call_later(self._give_early_keys)

    async def on_event(self, event: events.Event) -> None:
        """Let keys wait, or hand them on to the screen that was opened before them."""
        if not isinstance(event, Key):
            await super().on_event(event)
        elif not event.is_forwarded:
            await self._take(event)
        else:
            typed_on = self._typed_on.pop(event, self.screen)
            if self._last is not None and self._last.key is event:
                self._last = None
            if typed_on is self.screen:
                await super().on_event(event)
            else:
                again = Key(event.key, event.character)
                again.time = event.time
                await self._hand(again)

    async def _take(self, key: Key) -> None:
        if not self.hears:
            # Leaving is always possible; private in Textual 8.2.8, which is pinned.
            if not await self._check_bindings(key.key, priority=True):
                self._early.append(key)
        elif self._early:
            self._early.append(key)
        elif (last := self._last) and last.screen is not self.screen and self._busy(last.to):
            self._early.append(key)
            self._follow(last.to)
            self.set_timer(LONGEST_WAIT, self._give_early_keys)
        else:
            await self._hand(key)

    async def _hand(self, key: Key) -> None:
        self._last = _Handed(key, self.focused or self.screen, self.screen)
        self._typed_on[key] = self.screen
        await super().on_event(key)

    def _busy(self, node: MessagePump | None) -> bool:
        """Whether something is still to be dealt with on the way of a key up to the app."""
        while node is not None and node is not self:
            if node.message_queue_size:
                return True
            node = node._parent
        return False

    def _follow(self, node: MessagePump | None) -> None:
        """Go the way of a key, behind it, from widget to widget up to the app."""
        while node is not None and node is not self:
            above = node._parent
            if node.call_later(self._follow, above):
                return
            node = above
        self.hear_early_keys()

    async def _give_early_keys(self) -> None:
        if self.hears and self._early:
            self._last = None
            early, self._early = self._early, []
            for key in early:
                await self.on_event(key)
