"""How the command line words things."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.tunes.parting import parting

if TYPE_CHECKING:
    from datetime import date

    from tunememory.service.views import StartView, Twin


def one_line(*facts: str) -> str:
    """The facts that are known, two spaces apart."""
    return "  ".join(fact for fact in facts if fact)


def round_minutes(minutes: float) -> str:
    """Minutes as read aloud, empty for none: ``"7 min"``."""
    return f"{minutes:.0f} min" if minutes >= 0.5 else ""


def day_words(day: date) -> str:
    """A day as read aloud: ``"Tuesday 24 November 2026"``."""
    names = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
    months = ("January", "February", "March", "April", "May", "June", "July", "August",
              "September", "October", "November", "December")  # fmt: skip
    return f"{names[day.weekday()]} {day.day} {months[day.month - 1]} {day.year}"


def starts_line(start: StartView) -> str:
    """A start on one line: part, letters with bar lines, fingers."""
    if not start.letters:
        return f"{start.part}  not written down yet"
    doubt = f"   ? {start.doubt}" if start.doubt else ""
    fingers = f"   {_barred(start.fingers, start)}" if start.fingers else ""
    return f"{start.part}  {_barred(start.letters, start)}{fingers}{doubt}"


def twin_line(twin: Twin) -> str:
    """What to say of a tune that begins alike; the same notes all through may be one tune."""
    if twin.parts_at == 0:
        return f"begins just like {twin.title}: perhaps the same tune"
    return f"don't mix with {twin.title}: {parting(twin.parts_at)}"


def _barred(signs: tuple[str, ...], start: StartView) -> str:
    words: list[str] = []
    for place, sign in enumerate(signs):
        if place in start.bars and place:
            words.append("|")
        words.append(sign)
    return " ".join(words)
