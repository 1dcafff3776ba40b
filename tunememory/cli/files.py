"""The commands about files: tune books and scores in and out, backup, merge, pupils."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from tunememory.cli import UsageError
from tunememory.cli.opening import clock_of, one_tune, open_session_of, path_of
from tunememory.cli.output import one_line, print_json
from tunememory.errors import NotDoneError
from tunememory.library import exporting
from tunememory.library.importing import ImportReport, Refused, import_file, joined
from tunememory.music.scores.files import write_musicxml
from tunememory.music.tune import Status, declared_by
from tunememory.paths import repertoire_path
from tunememory.teaching.pupils import Progress, by_progress, give_tunes
from tunememory.words import counted

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable


def backup(options: argparse.Namespace) -> int:
    """Copy the file as it stands."""
    from tunememory.store.backup import back_up, folder_of  # noqa: PLC0415 - as with the store

    with open_session_of(options) as session:
        moment = session.now().astimezone(session.clock.zone).strftime("%Y-%m-%d-%H%M%S")
        name = f"{session.path.stem}-by-hand-{moment}{session.path.suffix}"
        target = Path(options.file).expanduser() if options.file else folder_of(session.path) / name
        back_up(session.path, target)
        print(f"copied to {target}")
    return 0


def restore(options: argparse.Namespace) -> int:
    """Bring a copy back, or list the copies there are."""
    from tunememory.store.backup import copies  # noqa: PLC0415 - as with the store
    from tunememory.store.restore import restore as bring_back  # noqa: PLC0415

    path = repertoire_path(options.repertoire)
    if not options.file:
        print("\n".join(f"  {copy}" for copy in copies(path)) or f"There are no copies of {path}.")
        return 0
    kept = bring_back(path, Path(options.file).expanduser())
    print(f"brought back {options.file}")
    if kept is not None:
        print(f"what was there is kept at {kept}")
    return 0


def merge(options: argparse.Namespace) -> int:
    """Take in what another copy of the file has and this one lacks."""
    from tunememory.store.merge import merge as take_in  # noqa: PLC0415 - as with the store

    with open_session_of(options) as session:
        report = take_in(session.repertoire, Path(options.file).expanduser())
        session.reload()
        # Beliefs of the tunes concerned are worked out from the joined history, and kept.
        session.beliefs.all()
        counts = (
            (report.tunes_added, "tunes"),
            (report.tunes_changed, "tunes changed"),
            (report.checks_added, "checks"),
            (report.checks_withdrawn, "checks taken back"),
            (report.practices_added, "practice entries"),
            (report.sets_taken, f"{session.settings.set_word}s"),
            (report.dates_taken, "dates"),
        )
        told = [f"{number} {what}" for number, what in counts if number]
        print(one_line("taken in:", *told) if told else "There was nothing new in it.")
    return 0


def give(options: argparse.Namespace) -> int:
    """Give tunes with their starts to another file."""
    with open_session_of(options) as session:
        tunes = [one_tune(session, name).uuid for name in options.names]
        other = Path(options.other).expanduser()
        if options.new and not other.parent.is_dir():
            raise UsageError(f"{other.parent}: there is no such folder")
        report = give_tunes(session, other, tunes, create=options.new)
        for title in report.given:
            print(f"  given: {title}")
        for title in report.had:
            print(f"  was there already: {title}")
    return 0


def share(options: argparse.Namespace) -> int:
    """Print which tunes all of several files can start, or who has which."""
    from tunememory.teaching.pupils import shared, table, table_text  # noqa: PLC0415 - loads numpy

    if options.who:
        who = table([Path(name).expanduser() for name in options.files], clock_of(options))
        if options.json:
            print_json(who)
        else:
            print(table_text(who), end="")
        return 0
    if len(options.files) < 2:
        raise UsageError("name at least two repertoire files, or ask --who has which tune")
    found = shared([Path(name).expanduser() for name in options.files], clock_of(options))
    if options.json:
        print_json(found)
        return 0
    for title in found.all_can:
        print(f"  {title}")
    if not found.all_can:
        print("There is no tune that all can start.")
    if found.all_have:
        print(f"All have, but not all can start: {'; '.join(found.all_have)}")
    return 0


def pupil(options: argparse.Namespace) -> int:
    """Print one pupil's tunes by how they stand, or write the slip of paper for the pupil."""
    if options.slip:
        return _slip(options)
    with open_session_of(options) as session:
        tunes = by_progress(session)
        tunes[Progress.LATER] = tunes.pop(Progress.NOT_ASKED) + tunes[Progress.LATER]
        shown = (Progress.GIVEN, Progress.CAN_START, Progress.MEND, Progress.LATER)
        titles = {progress: [tune.title for tune in tunes[progress]] for progress in shown}
        if options.json:
            print_json({progress.replace(" ", "_"): some for progress, some in titles.items()})
            return 0
        for progress, some in titles.items():
            print(f"{progress}: {'; '.join(some) or 'none'}")
    return 0


def _slip(options: argparse.Namespace) -> int:
    from tunememory.teaching.pupils import Lesson  # noqa: PLC0415 - loads numpy

    lesson = Lesson(path_of(options, create=False), clock_of(options))
    with lesson.session:
        number = lesson.write_slip(Path(options.slip).expanduser())
    print(f"wrote {counted(number, 'tune')} to {options.slip}")
    return 0


def verify(options: argparse.Namespace) -> int:
    """Check that the file is sound."""
    from tunememory.session import differing  # noqa: PLC0415 - loads numpy
    from tunememory.store.verify import verify as problems_in  # noqa: PLC0415 - as with the store

    with open_session_of(options) as session:
        problems = problems_in(session.repertoire)
        wrong = differing(session)
        if wrong:
            problems.append(f"{wrong} beliefs differ from the history: run tunememory rebuild")
        for problem in problems:
            print(f"tunememory: {problem}", file=sys.stderr)
        if problems:
            return 1
        print(
            f"{session.path}: sound, {len(session.tunes)} tunes, "
            f"{session.repertoire.checks.count()} checks"
        )
    return 0


def rebuild(options: argparse.Namespace) -> int:
    """Work out the beliefs anew from the history."""
    from tunememory.session import rebuild as again  # noqa: PLC0415 - loads numpy

    with open_session_of(options) as session:
        changed = again(session)
        print(f"beliefs of {len(session.tunes)} tunes worked out anew, {changed} differed")
    return 0


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
