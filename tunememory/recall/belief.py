"""What we believe about how well the strands of a tune are remembered."""

from __future__ import annotations

import math
import struct
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from tunememory.music.tune import Declared
from tunememory.recall.check import FIRST_START_COLUMN, NAMED

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from numpy.typing import NDArray

    from tunememory.recall.forgetting import Bools, Floats, Ints
    from tunememory.recall.parameters import Parameters


MODEL = 3
"""Goes up by one whenever the same history gives other beliefs: by other rules, other starting
values, or another way of keeping them. What was kept under an earlier one is worked out anew."""

_MAGIC = b"TMB"
_HEAD = struct.Struct("<3sBH")
_FIELDS = (
    ("mean", "<f8"),
    ("cov", "<f8"),
    ("exposed_at", "<f8"),
    ("gained_day", "<i8"),
    ("gains", "<i8"),
    ("checks", "<i8"),
    ("present", "|b1"),
)


@dataclass(frozen=True, slots=True, eq=False)
class TuneBelief:
    """Joint Gaussian belief about x = ln S of a tune's strands, and what it rests on.

    S is the time in days after which the chance of a level of 3 or 4 has fallen to one half.
    Arrays have one place for each of F columns (``check.column_of``).

    Attributes:
        mean: (F,) means of x; 0 where absent.
        cov: (F, F) covariances of x; 0 where absent.
        exposed_at: (F,) days since the epoch when the strand was last heard, seen or played;
            nan where absent.
        gained_day: (F,) ordinal of the last practice day that gave a learning gain, 0 for none.
        gains: (F,) how many gains that day gave.
        checks: (F,) how many levels were given.
        present: (F,) whether the tune has the strand.
    """

    mean: Floats
    cov: Floats
    exposed_at: Floats
    gained_day: Ints
    gains: Ints
    checks: Ints
    present: Bools

    @property
    def columns(self) -> int:
        """F."""
        return len(self.mean)

    def to_bytes(self) -> bytes:
        """Exact to the bit, little-endian, marked with the model that made it."""
        parts = [_HEAD.pack(_MAGIC, MODEL, self.columns)]
        parts += [np.ascontiguousarray(getattr(self, n), dtype=t).tobytes() for n, t in _FIELDS]
        return b"".join(parts)


def of_this_model(data: bytes) -> bool:
    """Whether these bytes begin as what ``to_bytes`` writes; of another model they are no use."""
    return data.startswith(_MAGIC + bytes([MODEL]))


class _Place(NamedTuple):
    """Where a field stands in a stored belief: types there and here, numbers, shape, offset."""

    stored: np.dtype[Any]
    own: np.dtype[Any]
    numbers: int
    shape: tuple[int, ...]
    offset: int


@lru_cache(maxsize=64)
def _layout(columns: int) -> tuple[tuple[_Place, ...], int]:
    """Return the places of the fields and the length of the whole; thousands of tunes are alike."""
    places = []
    offset = _HEAD.size
    for name, kind in _FIELDS:
        shape = (columns, columns) if name == "cov" else (columns,)
        numbers = math.prod(shape)
        stored = np.dtype(kind)
        places.append(_Place(stored, stored.newbyteorder("="), numbers, shape, offset))
        offset += numbers * stored.itemsize
    return tuple(places), offset


@dataclass(frozen=True, slots=True, eq=False)
class Beliefs:
    """Beliefs about T tunes, padded to one number of columns F. Fields as in ``TuneBelief``.

    Attributes:
        mean: (T, F).
        cov: (T, F, F).
        exposed_at: (T, F).
        gained_day: (T, F).
        gains: (T, F).
        checks: (T, F).
        present: (T, F).
        uuids: Identities of the tunes, in order; may be empty where nobody asks.
    """

    mean: Floats
    cov: Floats
    exposed_at: Floats
    gained_day: Ints
    gains: Ints
    checks: Ints
    present: Bools
    uuids: tuple[str, ...] = ()

    @property
    def variance(self) -> Floats:
        """(T, F) variances of x."""
        return np.ascontiguousarray(np.einsum("tff->tf", self.cov))

    def rows(self, index: Ints | Bools) -> Beliefs:
        """Beliefs about some of the tunes, copied."""
        kept = np.arange(len(self.mean))[index]
        uuids = tuple(self.uuids[i] for i in kept) if self.uuids else ()
        return Beliefs(**{name: getattr(self, name)[kept] for name, _ in _FIELDS}, uuids=uuids)

    def cut(self, columns: int) -> Beliefs:
        """These beliefs with their first ``columns`` columns, as views."""
        arrays = {name: getattr(self, name)[:, :columns] for name, _ in _FIELDS}
        arrays["cov"] = self.cov[:, :columns, :columns]
        return Beliefs(**arrays, uuids=self.uuids)

    def place(self, rows: Sequence[int], others: Beliefs) -> None:
        """Write other beliefs, of no more columns, into ``rows``; a single one into them all."""
        columns = others.mean.shape[1]
        for name, _ in _FIELDS:
            own, other = getattr(self, name), getattr(others, name)
            # What was there may have had more columns.
            own[rows] = np.nan if name == "exposed_at" else 0
            if name == "cov":
                own[rows, :columns, :columns] = other
            else:
                own[rows, :columns] = other

    def first(self, count: int) -> Beliefs:
        """The first ``count`` tunes, as views: changes show in these beliefs too."""
        return self.between(0, count)

    def between(self, begin: int, end: int) -> Beliefs:
        """Tunes ``begin`` up to ``end``, as views."""
        views = {name: getattr(self, name)[begin:end] for name, _ in _FIELDS}
        return Beliefs(**views, uuids=self.uuids[begin:end])

    def over(self, below: Beliefs) -> Beliefs:
        """These beliefs and then others of as many columns, copied; identities are left out."""
        arrays = ((name, getattr(self, name), getattr(below, name)) for name, _ in _FIELDS)
        joined = {name: np.concatenate([own, more]) for name, own, more in arrays}
        return Beliefs(**joined, uuids=())

    def tune(self, row: int, columns: int | None = None) -> TuneBelief:
        """Belief about one tune, copied, cut to ``columns`` columns."""
        f = self.mean.shape[1] if columns is None else columns
        return TuneBelief(
            mean=self.mean[row, :f].copy(),
            cov=self.cov[row, :f, :f].copy(),
            exposed_at=self.exposed_at[row, :f].copy(),
            gained_day=self.gained_day[row, :f].copy(),
            gains=self.gains[row, :f].copy(),
            checks=self.checks[row, :f].copy(),
            present=self.present[row, :f].copy(),
        )


def blank(uuids: Sequence[str], columns: int, tunes: int | None = None) -> Beliefs:
    """Return rows without any strand, to be filled: one a tune, or ``tunes`` without identity."""
    shape = (len(uuids) if tunes is None else tunes, columns)
    return Beliefs(
        mean=np.zeros(shape),
        cov=np.zeros((*shape, columns)),
        exposed_at=np.full(shape, np.nan),
        gained_day=np.zeros(shape, dtype=np.int64),
        gains=np.zeros(shape, dtype=np.int64),
        checks=np.zeros(shape, dtype=np.int64),
        present=np.zeros(shape, dtype=np.bool_),
        uuids=tuple(uuids),
    )


def stack(beliefs: Sequence[TuneBelief], uuids: Sequence[str] = ()) -> Beliefs:
    """Lay beliefs side by side, padded with absent strands. ``uuids`` are empty or as many."""
    stacked = blank(uuids, max((b.columns for b in beliefs), default=0), len(beliefs))
    by_columns: dict[int, list[int]] = {}
    for row, belief in enumerate(beliefs):
        by_columns.setdefault(belief.columns, []).append(row)
    for n, rows in by_columns.items():
        for name, _ in _FIELDS:
            own = getattr(stacked, name)
            place = own[:, :n, :n] if name == "cov" else own[:, :n]
            place[rows] = [getattr(beliefs[row], name) for row in rows]
    return stacked


def unpacked(stored: Sequence[bytes], into: Beliefs) -> Bools:
    """Read what ``TuneBelief.to_bytes`` wrote of many tunes, thousands alike at once.

    Args:
        stored: Of each tune; anything may be among it.
        into: Blank rows, one a tune; filled where a belief could be read.

    Returns:
        (T,) whether it could: not where it is of another model, of the wrong length, or of more
        columns than ``into`` has.
    """
    read = np.zeros(len(stored), dtype=np.bool_)
    alike: dict[tuple[bytes, int], list[int]] = {}
    for row, data in enumerate(stored):
        alike.setdefault((data[: _HEAD.size], len(data)), []).append(row)
    for (head, length), rows in alike.items():
        if len(head) < _HEAD.size or not of_this_model(head):
            continue
        _, _, columns = _HEAD.unpack(head)
        layout, size = _layout(columns)
        if length != size or columns > into.mean.shape[1]:
            continue
        block = np.frombuffer(b"".join([stored[row] for row in rows]), np.uint8)
        block = block.reshape(len(rows), size)
        fields: dict[str, Any] = {}
        for (name, _), place in zip(_FIELDS, layout, strict=True):
            end = place.offset + place.numbers * place.stored.itemsize
            field = np.ascontiguousarray(block[:, place.offset : end]).view(place.stored)
            fields[name] = field.reshape(len(rows), *place.shape).astype(place.own)
        into.place(rows, Beliefs(**fields))
        read[rows] = True
    return read


SINCE_PLAYED = {
    Declared.NEW: 0.0,
    Declared.LEARNING: 1.0,
    Declared.KNOWN: 10.0,
    Declared.OLD_FRIEND: 60.0,
}
"""Days since a tune was last played when it is entered, by the player's word.

A third of the stability that goes with the word, so that a tune "known" but never asked for
stands at about 3 in 4; own choice, no source.
"""

_WORDS = tuple(SINCE_PLAYED)


@dataclass(frozen=True, slots=True)
class Entry:
    """A tune as it comes into the repertoire.

    Attributes:
        columns: Columns of the strands it has.
        declared: How well the player says she has it.
        added_at: Days since the epoch.
    """

    columns: tuple[int, ...]
    declared: Declared
    added_at: float


def first_belief(
    columns: Iterable[int], declared: Declared, added_at: float, params: Parameters
) -> TuneBelief:
    """Return the belief about a tune as it comes into the repertoire.

    Args:
        columns: Columns of the strands it has; duplicates are forgiven.
        declared: How well the player says she has it.
        added_at: Days since the epoch.
        params: The player's parameters.
    """
    return first_beliefs([Entry(tuple(columns), declared, added_at)], params).tune(0)


def first_beliefs(entries: Sequence[Entry], params: Parameters) -> Beliefs:
    """Return first beliefs of R tunes side by side; ``params`` may differ by row."""
    rows = len(entries)
    size = max((max(entry.columns, default=-1) + 1 for entry in entries), default=0)
    present = np.zeros((rows, size), dtype=np.bool_)
    for row, entry in enumerate(entries):
        present[row, list(entry.columns)] = True
    word = np.array([_WORDS.index(entry.declared) for entry in entries], dtype=np.int64)
    said = (params.new, params.learning, params.known, params.old_friend)
    tune_mean = params.just_learned + np.choose(word, said) if rows else np.zeros(0)
    strand = np.zeros((size, rows))
    for column in range(size):
        named = column < FIRST_START_COLUMN
        strand[column] = getattr(params, NAMED[column]) if named else params.start
    own = np.broadcast_to(np.square(params.strand_sd), (rows,))
    shared = np.maximum(np.square(params.declared_sd) - own, 0.0)
    cov = np.where(present[:, :, None] & present[:, None, :], shared[:, None, None], 0.0)
    for column in range(size):
        cov[:, column, column] += np.where(present[:, column], own, 0.0)
    since = np.array([entry.added_at - SINCE_PLAYED[entry.declared] for entry in entries])
    shape = (rows, size)
    return Beliefs(
        mean=np.where(present, (tune_mean + strand).T, 0.0),
        cov=cov,
        exposed_at=np.where(present, since[:, None], np.nan),
        gained_day=np.zeros(shape, dtype=np.int64),
        gains=np.zeros(shape, dtype=np.int64),
        checks=np.zeros(shape, dtype=np.int64),
        present=present,
    )


USUAL_COLUMNS = FIRST_START_COLUMN + 4
"""All but starts, and four parts: nearly every tune."""


def in_blocks(
    beliefs: Beliefs, count: int, work: Callable[[Beliefs], tuple[NDArray[np.float64], ...]]
) -> tuple[NDArray[np.float64], ...]:
    """Return what ``work`` gives for all tunes, (T, F) arrays with nan where there is no strand.

    Args:
        beliefs: T tunes, F columns.
        count: How many arrays ``work`` gives.
        work: Works strand by strand on any number of tunes and columns.
    """
    columns = beliefs.mean.shape[1]
    if columns <= USUAL_COLUMNS:
        return work(beliefs)
    long = np.asarray(beliefs.present[:, USUAL_COLUMNS:].any(axis=1))
    whole = tuple(np.full(beliefs.mean.shape, np.nan) for _ in range(count))
    for rows, width in ((~long, USUAL_COLUMNS), (long, columns)):
        if rows.any():
            for all_tunes, block in zip(whole, work(beliefs.cut(width).rows(rows)), strict=True):
                all_tunes[rows, :width] = block
    return whole
