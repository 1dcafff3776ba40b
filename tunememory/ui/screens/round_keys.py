"""The keys of a round, and which of them mean something at a given moment."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.tunes.check import NAME
from tunememory.ui.actions import bind

if TYPE_CHECKING:
    from textual.binding import BindingType

    from tunememory.ui.answering import Answer

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


def word_of_enter(answer: Answer | None, word: str) -> str:
    """Return what Enter does just now.

    Args:
        answer: The prompt, or ``None`` when the round is over.
        word: What it does when the round is over.
    """
    if answer is None:
        return word
    return HOW_IT_CAME if answer.shown else HAVE


def hushed(answer: Answer | None) -> frozenset[str]:
    """Return what the key line leaves out: levels before the answer, stopping after the end.

    Args:
        answer: The prompt, or ``None`` when the round is over.
    """
    if answer is None:
        return _LEVEL_ACTIONS | {"stop"}
    return frozenset() if answer.shown else _LEVEL_ACTIONS


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
        return "Only the name is asked for here." if answer.shown else ANSWER_FIRST
    if key == "p":
        return "Hearing it now would give it away." if answer.parts else "No start is written down."
    return "The answer is shown already: say how it came."


def possible(action: str, answer: Answer | None) -> bool:
    """Whether an action means something just now.

    Args:
        action: Its name, without arguments.
        answer: The prompt, or ``None`` when the round is over.
    """
    shown = answer is not None and answer.shown
    if action in {"wrong_key", "stray"}:
        return shown and answer is not None and NAME not in answer.asked.strands
    if action == "hear":
        return answer is not None and answer.may_be_heard
    if action in {"hint", "skip", "not_today", "surprise"}:
        return answer is not None and not shown
    if action in {"level", "move", "strand", "strand_here", "only_kind", "view"}:
        return answer is not None
    return True
