"""The commands about dates, sets, what to start tonight and the card for the case."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from tunememory.cli import UsageError
from tunememory.cli.opening import one_named, one_tune, open_session_of
from tunememory.cli.output import one_line, print_json
from tunememory.dates.agenda import dates_of
from tunememory.dates.changing import (
    DateDraft,
    add_day_off,
    all_days_off,
    date_draft,
    export_dates,
    import_dates,
    remove_date,
    remove_day_off,
    save_date,
    to_calendar,
)
from tunememory.dates.played import dates_to_tell, played_there
from tunememory.dates.readiness import all_dates, date_view
from tunememory.dates.tonight import one_for_each_key, tunes_in_key, what_to_start
from tunememory.dates.words import parse_day
from tunememory.errors import NotDoneError
from tunememory.library.exporting import write_file
from tunememory.library.sets import all_sets, remove_set, save_set
from tunememory.paper import Paper
from tunememory.recall.state import in_ten
from tunememory.teaching.card import card_for, card_html, card_text
from tunememory.words import ahead, counted, weekday_words

if TYPE_CHECKING:
    import argparse
    from collections.abc import Sequence

    from tunememory.dates.readiness import DateTune, DateView
    from tunememory.dates.tonight import Starter
    from tunememory.library.sets import SetView
    from tunememory.session import Session


def dates(options: argparse.Namespace) -> int:
    """Print every date and how ready it finds the player."""
    with open_session_of(options) as session:
        found = all_dates(session)
        if options.json:
            print_json([_date_json(view) for view in found])
            return 0
        for view in found:
            print(_date_line(view))
        for past in dates_to_tell(session):
            print(f"What was played at {past.dated.title} on {weekday_words(past.on)}? "
                  "tunememory dates played NAME")  # fmt: skip
        if not found:
            print("No dates yet: tunememory dates add WHEN --title NAME.")
    return 0


def add_date(options: argparse.Namespace) -> int:
    """Add a date."""
    with open_session_of(options, create=True) as session:
        draft = DateDraft(
            when=options.when,
            title=options.title,
            kind=options.kind,
            place=options.place,
            tunes=tuple(one_tune(session, name).uuid for name in options.tune),
            sets=tuple(_set(session, name).uuid for name in options.set),
            weeks_before=options.season,
        )
        print(f"added: {_date_line(date_view(session, save_date(session, draft).uuid)).strip()}")
    return 0


def edit_date(options: argparse.Namespace) -> int:
    """Change what is given of a date."""
    with open_session_of(options) as session:
        view = _date(session, options.name)
        before = date_draft(session, view.dated.uuid)
        given = {
            "when": options.when,
            "title": options.title,
            "kind": options.kind,
            "place": options.place,
            "weeks_before": options.season,
            "tunes": _changed(
                before.tunes,
                [one_tune(session, name).uuid for name in options.tune],
                [one_tune(session, name).uuid for name in options.no_tune],
            ),
            "sets": _changed(
                before.sets,
                [_set(session, name).uuid for name in options.set],
                [_set(session, name).uuid for name in options.no_set],
            ),
        }
        draft = replace(before, **{name: to for name, to in given.items() if to is not None})
        if draft == before:
            raise UsageError("say what changes: --when, --title, --tune … (see --help)")
        save_date(session, draft, view.dated.uuid)
        print(f"changed: {_date_line(date_view(session, view.dated.uuid)).strip()}")
    return 0


def _changed(before: Sequence[str], more: Sequence[str], fewer: Sequence[str]) -> tuple[str, ...]:
    return tuple(one for one in dict.fromkeys((*before, *more)) if one not in fewer)


def show_date(options: argparse.Namespace) -> int:
    """Print one date with its tunes."""
    with open_session_of(options) as session:
        view = date_view(session, _date(session, options.name).dated.uuid)
        if options.json:
            print_json(_date_json(view))
            return 0
        print(_date_line(view).strip())
        if view.sets:
            print(f"  {session.settings.set_word}s: {', '.join(view.sets)}")
        if view.tunes and view.on is not None:
            print("  now → on the day")
        for row in view.tunes:
            print("  " + _date_tune(row, over=view.on is None))
        if view.leave_out:
            print(f"Leave out: {'; '.join(view.leave_out)}")
    return 0


def _date_tune(row: DateTune, *, over: bool) -> str:
    """A tune of a date: its chances; of one that is over only whether it was played there."""
    facts = (row.tune.title, row.tune.key_short, row.tuning)
    if over:
        return one_line(*facts, f"played {row.played.isoformat()}" if row.played else "")
    chances = f"{in_ten(row.chance):<13} → {in_ten(row.kept):<13}"
    return one_line(chances, *facts, row.readiness.value)


def drop_date(options: argparse.Namespace) -> int:
    """Take a date out."""
    with open_session_of(options) as session:
        view = _date(session, options.name)
        remove_date(session, view.dated.uuid)
        print(f"taken out: {view.dated.title}")
    return 0


def played(options: argparse.Namespace) -> int:
    """Say what was played at a date."""
    with open_session_of(options) as session:
        view = _date(session, options.name)
        told = {past.dated.uuid: past.on for past in dates_to_tell(session)}
        on = parse_day(options.on, session.day()) if options.on else told.get(view.dated.uuid)
        if on is None:
            raise NotDoneError(f"{view.dated.title}: say on which day, with --on")
        tunes = [one_tune(session, name).uuid for name in options.tunes]
        if not tunes:
            tunes = [row.tune.uuid for row in date_view(session, view.dated.uuid).tunes]
        played_there(session, view.dated.uuid, on, tunes)
        print(one_line("noted", counted(len(tunes), "tune"), view.dated.title, weekday_words(on)))
    return 0


def day_off(options: argparse.Namespace) -> int:
    """Take days off, take them back, or list them."""
    with open_session_of(options) as session:
        if options.when and options.take_back:
            found = one_named(options.when, [(off.when, off) for off in all_days_off(session)],
                              "day off")  # fmt: skip
            remove_day_off(session, found.uuid)
            print(f"taken back: {found.when}")
            return 0
        if options.when:
            add_day_off(session, options.when, options.note)
        off = all_days_off(session)
        if options.json:
            print_json(off)
            return 0
        for one in off:
            print("  " + one_line(one.when, one.note))
        if not off:
            print("No days off.")
    return 0


def calendar(options: argparse.Namespace) -> int:
    """Write the dates as iCalendar text, or take them from it."""
    path = Path(options.file).expanduser()
    with open_session_of(options, create=options.direction == "in") as session:
        if options.direction == "out":
            if options.file == "-":
                sys.stdout.write(to_calendar(session))
                return 0
            export_dates(session, path)
            print(f"wrote {counted(len(dates_of(session)), 'date')} to {options.file}")
            return 0
        report = import_dates(session, path)
        counts = one_line(
            f"{report.taken} taken",
            f"{report.changed} changed",
            f"{report.unchanged} unchanged",
            f"{len(report.left_out)} left out",
        )
        print(f"{path.name}: {counts}")
        for line, why in report.left_out:
            print(f"  left out: line {line}: {why}", file=sys.stderr)
    return 0


def sets(options: argparse.Namespace) -> int:
    """Print every set and how it stands."""
    with open_session_of(options) as session:
        found = all_sets(session)
        if options.json:
            print_json(found)
            return 0
        for view in found:
            print("  " + _set_line(view))
        if not found:
            print(f"No {session.settings.set_word}s yet: tunememory sets add NAME TUNE TUNE.")
    return 0


def add_set(options: argparse.Namespace) -> int:
    """Put tunes in a row."""
    with open_session_of(options) as session:
        tunes = [one_tune(session, name).uuid for name in options.tunes]
        print(f"added: {_set_line(save_set(session, options.name, tunes))}")
    return 0


def edit_set(options: argparse.Namespace) -> int:
    """Give a set another name, or other tunes."""
    with open_session_of(options) as session:
        view = _set(session, options.name)
        kept = session.sets[view.uuid]
        if options.rename is None and not options.tunes:
            raise UsageError("say what changes: its tunes in order, or --rename NEW")
        name = kept.name if options.rename is None else options.rename
        tunes = [one_tune(session, title).uuid for title in options.tunes] or kept.tunes
        print(f"changed: {_set_line(save_set(session, name, tunes, view.uuid))}")
    return 0


def show_set(options: argparse.Namespace) -> int:
    """Print one set with its tunes and joins."""
    with open_session_of(options) as session:
        view = _set(session, options.name)
        if options.json:
            print_json(view)
            return 0
        print(_set_line(view))
        for place, tune in enumerate(view.tunes):
            print("  " + one_line(tune.title, tune.key, tune.tuning, in_ten(tune.chance)))
            if place < len(view.joins):
                chance = view.joins[place].chance
                print(f"    into the next: {'not asked yet' if chance is None else in_ten(chance)}")
    return 0


def drop_set(options: argparse.Namespace) -> int:
    """Take a set apart."""
    with open_session_of(options) as session:
        view = _set(session, options.name)
        remove_set(session, view.uuid)
        print(f"taken apart: {view.name}")
    return 0


def _date(session: Session, words: str) -> DateView:
    return one_named(words, [(view.dated.title, view) for view in all_dates(session)], "date")


def _set(session: Session, words: str) -> SetView:
    word = session.settings.set_word
    return one_named(words, [(view.name, view) for view in all_sets(session)], word)


def _date_json(view: DateView) -> dict[str, object]:
    return {
        "uuid": view.dated.uuid,
        "title": view.dated.title,
        "kind": view.dated.kind,
        "place": view.dated.place,
        "when": view.when,
        "on": view.on,
        "days": view.days,
        "wanted": view.wanted,
        "ready": view.ready,
        "will_be": view.will_be,
        "sets": view.sets,
        "tunes": [_date_tune_json(row) for row in view.tunes],
        "leave_out": view.leave_out,
    }


def _date_tune_json(row: DateTune) -> dict[str, object]:
    return {
        "tune": row.tune.uuid,
        "title": row.tune.title,
        "key": row.tune.key_short,
        "tuning": row.tuning,
        "chance": row.chance,
        "untouched": row.untouched,
        "kept": row.kept,
        "readiness": row.readiness,
        "played": row.played,
    }


def _date_line(view: DateView) -> str:
    if view.on is None:
        return f"  {'over':<12}{view.dated.title}"
    ready = f"{view.ready} of {view.wanted} ready" if view.wanted else ""
    more = f"{view.will_be} more if the plan is kept" if view.will_be else ""
    facts = one_line(view.dated.title, view.when, view.dated.place, ready, more)
    return f"  {ahead(view.days or 0):<12}{facts}"


def _set_line(view: SetView) -> str:
    stands = "ready" if view.ready else f"not yet: {view.weakest}"
    return one_line(view.name, " / ".join(tune.title for tune in view.tunes), stands)


def tonight(options: argparse.Namespace) -> int:
    """Print what to start and one sure starter a key, or all there is in one key."""
    with open_session_of(options) as session:
        if options.key:
            groups = tunes_in_key(session, options.key, options.kind, options.tuning)
            if options.json:
                print_json({tuning: [*map(_starter_json, found)] for tuning, found in groups})
                return 0
            for tuning, found in groups:
                print(tuning)
                for one in found:
                    print("  " + _starter(one))
            if not groups:
                print(f"No {options.kind or 'tune'} on that root.")
            return 0
        start = what_to_start(session, "", options.kind, options.tuning)
        keys = one_for_each_key(session, options.tuning, options.kind)
        if options.json:
            sure_ones = {key: sure and _starter_json(sure) for key, sure in keys}
            print_json({"start": [*map(_starter_json, start)], "keys": sure_ones})
            return 0
        for one in start:
            print("  " + _starter(one))
        if not start:
            print(f"No {options.kind or 'tune'} to start in this tuning.")
        for key, sure in keys:
            print(f"{key:<3} {_starter(sure) if sure else 'no sure starter'}")
    return 0


def _starter_json(one: Starter) -> dict[str, object]:
    return {
        "tune": one.tune.uuid,
        "title": one.tune.title,
        "kind": one.tune.kind,
        "key": one.tune.key_short,
        "tuning": one.tuning,
        "chance": one.chance,
        "sure": one.sure,
        "played_here": one.played_here,
        "lately": one.lately,
        "first": one.first,
    }


def _starter(one: Starter) -> str:
    tune = one.tune
    here = f"played here {one.played_here.isoformat()}" if one.played_here else ""
    return one_line(tune.title, tune.kind, tune.key_short, in_ten(one.chance), one.first, here)


def card(options: argparse.Namespace) -> int:
    """Print a card, or write it as a page for the printer."""
    with open_session_of(options) as session:
        made = card_for(session, options.what)
        if options.html:
            page = card_html(made, Paper(options.paper))
            write_file(Path(options.html).expanduser(), page)
            print(f"wrote the card to {options.html}")
        else:
            sys.stdout.write(card_text(made))
    return 0
