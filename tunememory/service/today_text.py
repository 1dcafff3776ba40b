"""The first screen as text, and back. Loads nothing beyond the standard library and the words."""

from __future__ import annotations

import json
from datetime import date
from math import isfinite
from typing import TYPE_CHECKING, Any

from tunememory import __version__
from tunememory.memory.version import MODEL
from tunememory.service.today_view import Coming, Fades, Step, TodayView, TuneMark
from tunememory.tunes.check import RoundKind
from tunememory.tunes.sitting import At
from tunememory.tunes.text import clean_text

if TYPE_CHECKING:
    from tunememory.clock import Clock


def made_as(clock: Clock) -> str:
    """Say what a first screen rests on beside the file: this program, its memory and the zone."""
    return f"{__version__} {MODEL} {clock.zone}"


def to_text(view: TodayView) -> str:
    """Return ``view`` as JSON; ``from_text`` gives the same view back."""
    roots, chances, asked = zip(*view.tunes, strict=True) if view.tunes else ((), (), ())
    names = sorted({*roots})
    held = view._asdict() | {
        "day": view.day.isoformat(),
        "tunes": [names, [*map(names.index, roots)], chances, [*map(int, asked)]],
        "pick_up_day": view.pick_up_day and view.pick_up_day.isoformat(),
        "coming": [(one.title, one.on.isoformat(), *one[2:]) for one in view.coming],
    }
    return json.dumps(held, ensure_ascii=False, separators=(",", ":"))


def from_text(text: str) -> TodayView | None:
    """Return the view that ``to_text`` wrote, ``None`` for any other text."""
    try:
        held = json.loads(text, parse_constant=_refuse)
        if set(held) != set(TodayView._fields):
            return None
        return _view(**held)
    except (AttributeError, LookupError, TypeError, ValueError, RecursionError):
        return None


def _view(*, day: Any, tuning: Any, steps: Any, fading: Any, tunes: Any, counts: Any, note: Any,
          coming_back: Any, at: Any, closed: Any, pick_up: Any, pick_up_day: Any, practice: Any,
          coming: Any, practised: Any, head_only: Any) -> TodayView:  # fmt: skip
    return TodayView(
        day=date.fromisoformat(day),
        tuning=_words(tuning),
        steps=tuple(
            Step(RoundKind(kind), _number(minutes), _count(prompts), _truth(done), _count(asked))
            for kind, minutes, prompts, done, asked in steps
        ),
        fading=tuple(
            Fades(_words(title), _words(strand), _number(chance))
            for title, strand, chance in fading
        ),
        tunes=_marks(*tunes),
        counts=tuple((_words(state), _count(number)) for state, number in counts),
        note=_words(note),
        coming_back=_truth(coming_back),
        at=At(at),
        closed=_truth(closed),
        pick_up=_words(pick_up),
        pick_up_day=None if pick_up_day is None else date.fromisoformat(pick_up_day),
        practice=_count(practice),
        coming=tuple(
            Coming(_words(title), date.fromisoformat(on), _count(days), _count(wanted),
                   _count(ready))
            for title, on, days, wanted, ready in coming
        ),
        practised=_truth(practised),
        head_only=_truth(head_only),
    )  # fmt: skip


def _marks(names: Any, which: Any, chances: Any, asked: Any) -> tuple[TuneMark, ...]:
    """Tunes in columns: there may be thousands."""
    roots = dict(enumerate(map(_words, names)))
    if not {*map(type, chances)} <= {float} or not all(0 <= chance <= 1 for chance in chances):
        raise TypeError("no chances")
    return tuple(
        TuneMark(roots[place], chance, _ASKED[known])
        for place, chance, known in zip(which, chances, asked, strict=True)
    )


_ASKED = {0: False, 1: True}


def _refuse(constant: str) -> float:
    raise ValueError(f"{constant} is no number")


def _words(value: Any) -> str:
    if not isinstance(value, str):
        raise TypeError("no text")
    return clean_text(value)


def _truth(value: Any) -> bool:
    if not isinstance(value, bool):
        raise TypeError("neither true nor false")
    return value


def _count(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise TypeError("no whole number")
    return value


def _number(value: Any) -> float:
    if not isinstance(value, float) or not isfinite(value):
        raise TypeError("no number")
    return value
