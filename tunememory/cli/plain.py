"""A round line by line: no escape codes, no redrawing; for screen readers and any terminal."""

from __future__ import annotations

import sys
import time
from typing import TYPE_CHECKING

from tunememory.cli.opening import clock_of, open_desk_of, screen_path_of
from tunememory.cli.wording import one_line, starts_line, twin_line
from tunememory.service.chance_words import rated_words
from tunememory.service.today_view import RoundWish
from tunememory.tunes.check import HINT_CAP, NAME_WORDS, START_WORDS, Level, Prompt, RoundKind
from tunememory.tunes.shown import barred

if TYPE_CHECKING:
    import argparse

    from tunememory.service.round_run import RoundRun
    from tunememory.service.views import Asked

_HELP = "Enter: I have it. h: a hint. s: skip. t: not today. u: take the last one back. q: stop."


def plain_round(options: argparse.Namespace) -> int:
    """Ask a round on standard output and read the answers from standard input."""
    if not options.plain:
        from tunememory.ui.running import run_app  # noqa: PLC0415 - Textual loads only here

        wish = RoundWish(RoundKind(options.kind), options.minutes, options.tuning, options.only)
        return run_app(screen_path_of(options), clock_of(options), begin=wish)
    with open_desk_of(options) as desk:
        planned = desk.plan(RoundKind(options.kind), options.minutes, options.tuning, options.only)
        prompts = "1 prompt" if len(planned.asked) == 1 else f"{len(planned.asked)} prompts"
        _say(f"{planned.kind.value} round, tuning {planned.tuning}, {prompts}")
        if planned.note:
            _say(planned.note)
        if not planned.asked:
            return 0
        _say(_HELP)
        run = desk.begin(planned)
        while run.current is not None and _one(run, run.current):
            pass
        summary = run.stop()
        _say(f"{summary.asked} asked.")
        if summary.would_not_come:
            _say("Would not come: " + "; ".join(summary.would_not_come))
    return 0


def _one(run: RoundRun, asked: Asked) -> bool:
    """Ask one prompt; ``False`` when the player stops."""
    _say("")
    _say(f"{run.done + 1}. {asked.prompt.value}")
    if asked.prompt is not Prompt.WHAT:
        _say(one_line(asked.of.title, asked.of.kind))
    else:
        for start in asked.starts:
            if start.letters:
                _say(starts_line(start))
    began = time.monotonic()
    hints, answer = _listen(asked)
    if answer in _MOVES:
        return _MOVES[answer](run)
    seconds = time.monotonic() - began
    _reveal(asked)
    level = _level(asked, answer, hints)
    if level is None:
        return False
    rated = run.rate(dict.fromkeys(asked.strands, level), seconds=seconds, hints=hints)
    _say(rated_words(rated))
    return True


def _listen(asked: Asked) -> tuple[int, str]:
    """Give hints until something else is typed; return the hints shown and what was typed."""
    hints = 0
    while True:
        answer = _read("> ")
        if answer is None:
            return hints, "q"
        if answer in _MOVES or answer in {"", "1", "2", "3", "4"}:
            return hints, answer
        if answer == "h":
            hints = min(hints + 1, 4)
            _say(_hint(asked, hints))
        else:
            _say(_HELP)


def _stop(_: RoundRun) -> bool:
    return False


def _skip(run: RoundRun) -> bool:
    run.skip()
    return True


def _not_today(run: RoundRun) -> bool:
    run.not_today()
    return True


def _undo(run: RoundRun) -> bool:
    _say("Taken back." if run.undo() else "Nothing to take back.")
    return True


_MOVES = {"q": _stop, "s": _skip, "t": _not_today, "u": _undo}


def _reveal(asked: Asked) -> None:
    key = asked.tune.key.name if asked.tune.key else "key not known"
    _say(one_line(asked.tune.title, key, asked.tuning))
    for start in asked.starts:
        _say(starts_line(start))
    for twin in asked.twins:
        _say(twin_line(twin))


def _level(asked: Asked, given: str, hints: int) -> Level | None:
    """Ask for the level; ``None`` when the player stops."""
    words = NAME_WORDS if asked.prompt is Prompt.WHAT else START_WORDS
    cap = HINT_CAP if hints else Level.KICK_OFF
    while given not in {str(level.value) for level in Level if level <= cap}:
        offered = ", ".join(
            f"{level.value} {words[level]}" for level in reversed(Level) if level <= cap
        )
        answer = _read(f"{offered}: ")
        if answer is None or answer == "q":
            return None
        given = answer
    return Level(int(given))


def _hint(asked: Asked, step: int) -> str:
    key = asked.tune.key.name if asked.tune.key else "key not known"
    if asked.prompt is Prompt.WHAT:
        title = asked.tune.title
        first_letters = " ".join(word[0] + "…" for word in title.split())
        return {1: one_line(asked.tune.kind, key), 2: f"{len(title.split())} words",
                3: first_letters}.get(step, title)  # fmt: skip
    if step == 1:
        return key
    start = next((start for start in asked.starts if start.letters), None)
    if start is None:
        return "no start written down yet"
    return barred(start.letters[: {2: 1, 3: 3}.get(step)], start.bars)


def _say(line: str) -> None:
    print(line, flush=True)


def _read(prompt: str) -> str | None:
    """Read one line; ``None`` at the end of the input."""
    print(prompt, end="", flush=True)
    line = sys.stdin.readline()
    return line.strip().lower() if line else None
