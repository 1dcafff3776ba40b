"""A round line by line: no escape codes, no redrawing; for screen readers and any terminal."""

from __future__ import annotations

import sys
import time
from typing import TYPE_CHECKING

from tunememory.cli.opening import clock_of, one_tune, open_session_of, screen_path_of
from tunememory.cli.output import one_line, starts_line, twin_line
from tunememory.errors import NotDoneError
from tunememory.music.forms import barred
from tunememory.recall.check import KEY, Level, Prompt, RoundKind, facts_of
from tunememory.recall.state import rated_words
from tunememory.rounds.answer import (
    KEY_HINT,
    NOTHING_TO_HINT,
    ONLY_THE_NAME,
    SHOWN_ALREADY,
    name_hint,
)
from tunememory.rounds.planning import RoundWish, plan_round
from tunememory.rounds.running import RoundRun

if TYPE_CHECKING:
    import argparse

    from tunememory.rounds.answer import Answer
    from tunememory.rounds.planning import Asked
    from tunememory.session import Session


_HELP = "Enter: I have it. h: a hint. s: skip. t: not today. u: take the last one back. q: stop."
_HELP_LEVEL = (
    "Beside the level, where it is so: k2 for the key alone, a4 for the A start alone; "
    "w: began in another key; x and a name: strayed into that tune."
)


def plain_round(options: argparse.Namespace) -> int:
    """Ask a round on standard output and read the answers from standard input."""
    wish = RoundWish(RoundKind(options.kind), options.minutes, options.tuning, options.only)
    if not options.plain:
        from tunememory.ui.running import run_app  # noqa: PLC0415 - Textual loads only here

        return run_app(screen_path_of(options), clock_of(options), begin=wish)
    with open_session_of(options) as session:
        planned = plan_round(session, *wish)
        prompts = "1 prompt" if len(planned.asked) == 1 else f"{len(planned.asked)} prompts"
        _say(f"{planned.kind.value} round, tuning {planned.tuning}, {prompts}")
        if planned.note:
            _say(planned.note)
        if not planned.asked:
            return 0
        _say(_HELP)
        _say(_HELP_LEVEL)
        run = RoundRun.begin(session, planned)
        while run.answer is not None and _one(session, run, run.answer):
            pass
        summary = run.stop()
        _say(f"{summary.asked} asked.")
        if summary.would_not_come:
            _say("Would not come: " + "; ".join(summary.would_not_come))
    return 0


def _one(session: Session, run: RoundRun, answer: Answer) -> bool:
    """Ask one prompt; ``False`` when the player stops."""
    asked = answer.asked
    _say("")
    _say(f"{run.done + 1}. {asked.prompt.value}")
    if asked.prompt is not Prompt.WHAT:
        _say(one_line(asked.of.title, asked.of.kind))
    else:
        for start in asked.starts:
            if start.letters:
                _say(starts_line(start))
        if asked.tune.kind:
            _say(asked.tune.kind)
    typed = "" if answer.shown else _listen(answer)
    if typed not in _MOVES:
        _reveal(asked)
        typed = _ask_level(session, answer, typed)
    if typed in _MOVES:
        return _MOVES[typed](run)
    _say(rated_words(run.rate()))
    return True


def _listen(answer: Answer) -> str:
    """Give hints until the answer is to be shown; return what was typed, empty for Enter."""
    began = time.monotonic()
    while True:
        typed = _read("> ")
        if typed is None:
            return "q"
        if typed in _MOVES:
            return typed
        seconds = _seconds_since(began)
        if typed in {"", "1", "2", "3", "4"}:
            answer.show(seconds)
            return typed
        if typed != "h":
            _say(_HELP)
        elif not answer.hint(seconds):
            _say(NOTHING_TO_HINT)
        elif answer.shown:
            return ""
        else:
            _say(_hint(answer))


def _seconds_since(began: float) -> float:
    return time.monotonic() - began


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
    told = {KEY: "key not known", **facts_of(asked.tune)}
    _say(one_line(asked.tune.title, *told.values(), asked.tuning))
    for start in asked.starts:
        _say(starts_line(start))
    for twin in asked.twins:
        _say(twin_line(twin))


def _ask_level(session: Session, answer: Answer, given: str) -> str:
    """Ask for the level until it can be taken; return a move when one was typed instead.

    Enter alone takes the level that the clock suggests.
    """
    offered = ", ".join(
        f"{level.value} {answer.words[level]}" for level in reversed(Level) if level <= answer.cap
    )
    suggested = answer.suggested()
    if suggested is not None:
        offered += f" (Enter: {int(suggested)})"
    while True:
        try:
            if given and _judged(session, answer, given):
                return ""
        except NotDoneError as error:
            _say(str(error))
        typed = _read(f"{offered}: ")
        if typed is None or typed in {"q", "u"}:
            return typed or "q"
        if typed in _MOVES:
            typed = ""
            _say(SHOWN_ALREADY)
        elif not typed and suggested is not None:
            typed = str(int(suggested))
        given = typed


def _judged(session: Session, answer: Answer, given: str) -> bool:
    """Take a level with what stands beside it: ``3``, ``3 a4 w``, ``2 x name of a tune``.

    Raises:
        NotDoneError: Something cannot be read, or a strand is left without a level; nothing of
            it was taken.
    """
    marks, strayed, name = f" {given} ".partition(" x ")
    levels: dict[str, Level] = {}
    words = marks.split()
    for word in words:
        if word == "w":
            continue
        level = Level(int(word[-1])) if word[-1] in "1234" else None
        strand = answer.strand_of(word[:-1])
        if level is None or bool(word[:-1]) != bool(strand):
            raise NotDoneError(f"“{word}” cannot be read here. {_HELP_LEVEL}")
        if level > answer.cap:
            raise NotDoneError(answer.cap_words)
        levels[strand] = level
    if "" not in levels and any(strand not in levels for strand in answer.asked.strands):
        raise NotDoneError("Give a level from 1 to 4 too.")
    if (strayed or "w" in words) and not answer.may_be_marked:
        raise NotDoneError(ONLY_THE_NAME)
    answer.strayed_into = ("", "")
    if strayed:
        tune = one_tune(session, name.strip())
        answer.strayed_into = (tune.uuid, tune.title)
    answer.wrong_key = "w" in words
    answer.levels.clear()
    for strand in sorted(levels, reverse=True):  # the level for all the rest comes last
        answer.strand = strand
        answer.take(levels[strand])
    return bool(answer.rated)


def _hint(answer: Answer) -> str:
    """What the step of hint just taken shows."""
    if answer.hints == KEY_HINT and answer.asked.tune.key is not None:
        return answer.asked.tune.key.name
    if answer.asked.prompt is Prompt.WHAT or answer.start is None:
        return name_hint(answer.asked.tune.title, answer.hints)
    return barred(answer.start.letters[: answer.notes_hinted], answer.start.bars)


def _say(line: str) -> None:
    print(line, flush=True)


def _read(prompt: str) -> str | None:
    """Read one line; ``None`` at the end of the input."""
    print(prompt, end="", flush=True)
    line = sys.stdin.readline()
    return line.strip().lower() if line else None
