"""Adding, editing and removing tunes."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from tunememory.service import twins
from tunememory.service.drafts import start_of, tune_of
from tunememory.service.errors import ServiceError
from tunememory.service.identities import new_identity
from tunememory.service.remembering import refresh
from tunememory.service.shown import start_view
from tunememory.service.typed import key_of, tuning_of
from tunememory.store.errors import RepertoireError
from tunememory.tunes.instruments import strings_for
from tunememory.tunes.metre import metre_of_kind
from tunememory.tunes.text import clean_text, fold_title

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.service.open_file import OpenFile
    from tunememory.service.views import Draft, StartView
    from tunememory.tunes.tune import Status, Tune


def preview(desk: OpenFile, text: str, key: str, metre: str, tuning: str, kind: str) -> StartView:
    """Return a start as it would be kept, in every form.

    Raises:
        ServiceError: One line naming the sign that cannot be read.
    """
    read_key = key_of(key)
    read_tuning = strings_for(tuning_of(tuning), desk.settings.usual)
    metre = clean_text(metre) or metre_of_kind(clean_text(kind))
    start = start_of(
        text,
        part="A",
        key=read_key,
        metre=metre,
        tuning=read_tuning,
        form=desk.settings.entry_form,
    )
    return start_view(start, read_key, metre, read_tuning, desk.settings.on)


def same_title(desk: OpenFile, title: str) -> tuple[Tune, ...]:
    """Return the tunes that already go by ``title`` (case, accents and articles forgiven)."""
    wanted = fold_title(title)
    return tuple(
        tune
        for tune in desk.tunes.values()
        if wanted and any(fold_title(other) == wanted for other in tune.titles)
    )


def add(desk: OpenFile, draft: Draft) -> Tune:
    """Add a tune.

    Raises:
        ServiceError: A field cannot be read, or the file cannot be written.
    """
    tune = tune_of(draft, uuid=new_identity(), added=desk.day(), settings=desk.settings, old=None)
    return add_all(desk, [tune])[0]


def add_all(desk: OpenFile, tunes: Sequence[Tune]) -> Sequence[Tune]:
    """Add finished tunes in one transaction."""
    try:
        with desk.repertoire.writing():
            desk.repertoire.add_tunes(tunes)
            desk.tunes_changed()
            twins.catch_up(desk, at_most=twins.AT_ONCE)
    except RepertoireError as error:
        raise ServiceError(str(error)) from error
    return tunes


def edit(desk: OpenFile, uuid: str, draft: Draft) -> Tune:
    """Change a tune.

    Raises:
        ServiceError: A field cannot be read, the tune is gone, or the file cannot be written.
    """
    old = desk.tune(uuid)
    tune = tune_of(draft, uuid=uuid, added=old.added, settings=desk.settings, old=old)
    put(desk, [tune])
    return tune


def put(desk: OpenFile, tunes: Sequence[Tune]) -> None:
    """Write changed tunes in one transaction and bring their beliefs in step.

    Raises:
        ServiceError: The file cannot be written; nothing was.
    """
    try:
        with desk.repertoire.writing():
            stale = set(desk.repertoire.not_compared(tune.uuid for tune in tunes))
            for tune in tunes:
                before = desk.repertoire.tune(tune.uuid)
                desk.repertoire.update_tune(tune)
                if tune.uuid not in stale and _music_of(tune) == _music_of(before):
                    desk.repertoire.twins_hold(tune.uuid)
            desk.tunes_changed()
            for tune in tunes:
                refresh(desk, tune)
            twins.catch_up(desk, at_most=twins.AT_ONCE)
    except RepertoireError as error:
        raise ServiceError(str(error)) from error


def _music_of(tune: Tune) -> tuple[object, ...]:
    """What twins depend on."""
    return tune.starts, tune.key, tune.metre


def set_status(desk: OpenFile, uuid: str, status: Status) -> None:
    """Say of a tune that it is wanted, in learning, kept or resting."""
    put(desk, [replace(desk.tune(uuid), status=status)])


def remove(desk: OpenFile, uuid: str) -> None:
    """Take a tune out of the repertoire; its history stays in the file.

    Raises:
        ServiceError: It is gone already, or the file cannot be written.
    """
    desk.tune(uuid)
    try:
        with desk.repertoire.writing():
            desk.repertoire.remove_tune(uuid)
    except RepertoireError as error:
        raise ServiceError(str(error)) from error
    desk.tunes_changed()
