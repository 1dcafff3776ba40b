"""Writing the repertoire out as text."""

from __future__ import annotations

import contextlib
import csv
import io
import os
from typing import TYPE_CHECKING

from tunememory.errors import NotDoneError
from tunememory.library.starts import start_views
from tunememory.music.abc.writing import write_book
from tunememory.music.forms import barred
from tunememory.music.scores.plaine_easie import write_code
from tunememory.text import clean_text

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from tunememory.music.tune import Start, Tune
    from tunememory.session import Session


COLUMNS = ("title", "other titles", "kind", "key", "metre", "tuning", "status", "well known",
           "favourite", "source", "note", "added", "starts", "fingers", "uuid")  # fmt: skip


def to_abc(session: Session) -> str:
    """Return every tune as an ABC 2.1 tune book that reads back as the same repertoire."""
    return write_book(list(session.tunes.values()))


def to_csv(session: Session) -> str:
    """Return every tune as a row of comma-separated values (RFC 4180)."""
    text = io.StringIO()
    rows = csv.writer(text)
    rows.writerow(COLUMNS)
    for tune in session.tunes.values():
        shown = start_views(tune, session.settings)
        rows.writerow(
            harmless(value)
            for value in (
                tune.title if tune.titles else "",
                "; ".join(tune.titles[1:]),
                tune.kind,
                tune.key_name,
                tune.metre,
                (tune.tuning or session.settings.usual).letters,
                tune.status.value,
                tune.declared.value,
                "yes" if tune.favourite else "",
                tune.source,
                tune.note,
                tune.added.isoformat(),
                "; ".join(f"{start.part}: {barred(start.letters, start.bars)}" for start in shown),
                "; ".join(f"{start.part}: {barred(start.fingers, start.bars)}" for start in shown),
                tune.uuid,
            )
        )
    return text.getvalue()


def to_plaine_easie(tune: Tune, start: Start) -> str:
    """Return a start of ``tune`` in Plaine & Easie code.

    Raises:
        NotDoneError: It is not written down, or cannot be written in the code.
    """
    if not start.notes:
        raise NotDoneError(f"{start.part} start: not written down yet")
    key, metre = start.key or tune.key, start.metre_in(tune.metre)
    try:
        return write_code(start.notes, pickup=start.pickup, metre=metre, key=key)
    except NotDoneError as error:
        raise NotDoneError(f"{start.part} start: {error}") from error


def write_file(path: Path, content: str | bytes) -> None:
    """Write ``content`` whole or not at all; text as UTF-8.

    Raises:
        NotDoneError: The file cannot be written; what was there before is as it was.
    """
    partial = path.with_name(path.name + ".partial")
    try:
        with partial.open("wb") as file:
            file.write(content.encode() if isinstance(content, str) else content)
            file.flush()
            os.fsync(file.fileno())
        partial.replace(path)
    except OSError as error:
        with contextlib.suppress(OSError):
            partial.unlink(missing_ok=True)
        why = (error.strerror or "cannot be written").lower()
        raise NotDoneError(f"{clean_text(str(path))}: {why}") from error


def write_form(path: Path, forms: Mapping[str, Callable[[], str]]) -> None:
    """Write a file in the form that the ending of its name stands for.

    Args:
        path: Where.
        forms: What gives the text, by ending: ``{".html": …, ".txt": …}``.

    Raises:
        NotDoneError: The name ends in none of them, or the file cannot be written.
    """
    form = forms.get(path.suffix.lower())
    if form is None:
        raise NotDoneError(f"the name of the file must end in {' or '.join(forms)}")
    write_file(path, form())


def harmless(value: str) -> str:
    """Return a text so that a spreadsheet does not take it for a formula."""
    return "'" + value if value[:1] in {"=", "+", "-", "@"} else value
