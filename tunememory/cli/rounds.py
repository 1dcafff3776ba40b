"""A round line by line: no escape codes, no redrawing; for screen readers and any terminal."""

from __future__ import annotations

import sys
import time
from typing import TYPE_CHECKING, NamedTuple

from tunememory.cli.opening import clock_of, one_tune, open_session_of, screen_path_of
from tunememory.cli.output import one_line, starts_line, twin_line
from tunememory.errors import NotDoneError
from tunememory.music.forms import barred
from tunememory.recall.check import HINT_CAP, NAME_WORDS, START_WORDS, Level, Prompt, RoundKind
from tunememory.recall.state import rated_words
from tunememory.rounds.planning import RoundWish, plan_round
from tunememory.rounds.running import RoundRun

if TYPE_CHECKING:
    import argparse

    from tunememory.rounds.planning import Asked
    from tunememory.session import Session


_HELP = "Enter: I have it. h: a hint. s: skip. t: not today. u: take the last one back. q: stop."
_HELP_LEVEL = (
    "Beside the level, where it is so: k2 for the key alone, a4 for the A start alone; "
    "w: began in another key; x and a name: strayed into that tune."
)


class _Judged(NamedTuple):
    """What the player says of an answer."""

    levels: dict[str, Level]
    wrong_key: bool
    strayed_into: str


def plain_round(options: argparse.Namespace) -> int:
    """Ask a round on standard output and read the answers from standard input."""
    if not options.plain:
        from tunememory.ui.running import run_app  # noqa: PLC0415 - Textual loads only here

        wish = RoundWish(RoundKind(options.kind), options.minutes, options.tuning, options.only)
        return run_app(screen_path_of(options), clock_of(options), begin=wish)
    with open_session_of(options) as session:
        planned = plan_round(
            session, RoundKind(options.kind), options.minutes, options.tuning, options.only
        )
        prompts = "1 prompt" if len(planned.asked) == 1 else f"{len(planned.asked)} prompts"
        _say(f"{planned.kind.value} round, tuning {planned.tuning}, {prompts}")
        if planned.note:
            _say(planned.note)
        if not planned.asked:
            return 0
        _say(_HELP)
        _say(_HELP_LEVEL)
        run = RoundRun.begin(session, planned)
        while run.current is not None and _one(session, run, run.current):
            pass
        summary = run.stop()
        _say(f"{summary.asked} asked.")
        if summary.would_not_come:
            _say("Would not come: " + "; ".join(summary.would_not_come))
    return 0


def _one(session: Session, run: RoundRun, asked: Asked) -> bool:
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
    judged = _ask_level(session, asked, answer, hints)
    if judged is None:
        return False
    _say(rated_words(run.rate(seconds=seconds, hints=hints, **judged._asdict())))
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


def _ask_level(session: Session, asked: Asked, given: str, hints: int) -> _Judged | None:
    """Ask for the level until it can be taken; ``None`` when the player stops."""
    words = NAME_WORDS if asked.prompt is Prompt.WHAT else START_WORDS
    cap = HINT_CAP if hints else Level.KICK_OFF
    offered = ", ".join(
        f"{level.value} {words[level]}" for level in reversed(Level) if level <= cap
    )
    while True:
        if given:
            try:
                return _judged(session, asked, given, cap)
            except NotDoneError as error:
                _say(str(error))
        answer = _read(f"{offered}: ")
        if answer is None or answer == "q":
            return None
        given = answer


def _judged(session: Session, asked: Asked, given: str, cap: Level) -> _Judged:
    """Read a level with what stands beside it: ``3``, ``3 a4 w``, ``2 x name of a tune``.

    Raises:
        NotDoneError: Something cannot be read, or a strand is left without a level.
    """
    marks, strayed, name = f" {given} ".partition(" x ")
    strands = {strand[0].lower(): strand for strand in asked.strands}
    levels: dict[str, Level] = {}
    words = marks.split()
    for word in words:
        if word == "w":
            continue
        level = Level(int(word[-1])) if word[-1] in "1234" else None
        alone = strands.get(word[:-1])
        if level is None or (len(word) > 1 and alone is None):
            raise NotDoneError(f"“{word}” cannot be read here. {_HELP_LEVEL}")
        if level > cap:
            raise NotDoneError(f"A hint was shown: give {cap.value} or less.")
        if alone:
            levels[alone] = level
        else:
            levels = dict.fromkeys(asked.strands, level) | levels
    if len(levels) < len(asked.strands):
        raise NotDoneError("Give a level from 1 to 4 too.")
    into = one_tune(session, name.strip()).uuid if strayed else ""
    return _Judged(levels, "w" in words, into)


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
