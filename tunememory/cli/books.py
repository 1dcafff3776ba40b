"""The commands import and export."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from tunememory.cli import UsageError
from tunememory.cli.opening import one_tune, open_session_of
from tunememory.cli.output import one_line, print_json
from tunememory.errors import NotDoneError
from tunememory.library import exporting
from tunememory.library.importing import ImportReport, Refused, import_file, joined
from tunememory.music.scores.files import write_musicxml
from tunememory.music.tune import Status, declared_by

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable


_DOUBTS_SHOWN = 20


def import_books(options: argparse.Namespace) -> int:
    """Take in tune books, one transaction a file, and say what came of each."""
    failed = False
    whole = ImportReport()
    status = Status(options.status) if options.status else None
    with open_session_of(options, create=True) as session:
        for name in options.files:
            path = Path(name).expanduser()
            progress = _progress(path.name) if sys.stderr.isatty() else _silent
            try:
                report = import_file(session, path, progress, status, declared_by(options.known))
            except NotDoneError as error:
                # One unreadable file must not keep the others out.
                report = ImportReport(refused=(Refused(str(path), 0, str(error)),))
                failed = True
            whole = joined(whole, report)
            if not options.json:
                _print_report(path.name, report)
    if options.json:
        print_json(_report_json(whole))
    return 1 if failed else 0


def export(options: argparse.Namespace) -> int:
    """Write the tunes as ABC or CSV, or one tune's starts as MusicXML."""
    form = options.form or Path(options.file).suffix.lstrip(".").lower()
    if form not in {"abc", "csv", "musicxml"}:
        raise UsageError("say which form: a file ending in .abc, .csv or .musicxml, or --as abc")
    if (form == "musicxml") != bool(options.tune):
        raise UsageError("MusicXML holds one tune: export tune.musicxml --tune NAME")
    with open_session_of(options) as session:
        if form == "musicxml":
            text = write_musicxml(one_tune(session, options.tune))
        else:
            text = exporting.to_abc(session) if form == "abc" else exporting.to_csv(session)
        if options.file == "-":
            sys.stdout.write(text)
            return 0
        exporting.write_file(Path(options.file).expanduser(), text)
        what = options.tune or f"{len(session.tunes)} tunes"
        print(f"wrote {what} to {options.file}")
    return 0


def _print_report(name: str, report: ImportReport) -> None:
    counts = one_line(
        f"{report.taken} taken",
        f"{report.unchanged} unchanged",
        f"{report.changed} changed",
        f"{len(report.doubtful)} doubts",
        f"{len(report.refused)} refused",
    )
    print(f"{name}: {counts}")
    if report.wanted:
        print(f"  {report.wanted} of them only wanted, not asked: --status kept if you play them")
    for title, why in report.doubtful[:_DOUBTS_SHOWN]:
        print(f"  ? {title}: {why}")
    if len(report.doubtful) > _DOUBTS_SHOWN:
        print(f"  ? and {len(report.doubtful) - _DOUBTS_SHOWN} more (--json lists all)")
    for refused in report.refused:
        where = f"line {refused.line}: " if refused.line else ""
        print(f"  refused: {where}{refused.why}", file=sys.stderr)


def _report_json(report: ImportReport) -> dict[str, object]:
    return {
        "taken": report.taken,
        "unchanged": report.unchanged,
        "changed": report.changed,
        "doubtful": [{"title": title, "why": why} for title, why in report.doubtful],
        "refused": report.refused,
    }


def _silent(done: int, total: int) -> None:
    """Say nothing: nobody watches."""


def _progress(name: str) -> Callable[[int, int], None]:
    def say(done: int, total: int) -> None:
        if done == total or done % 50 == 0:
            end = "\n" if done == total else ""
            print(f"\r{name}: {done} of {total} tunes", end=end, file=sys.stderr, flush=True)

    return say
