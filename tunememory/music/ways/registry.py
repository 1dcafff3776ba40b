"""Every way, in the order it is offered."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from tunememory.music.ways.chords import chords, strummed
from tunememory.music.ways.neighbours import neighbours
from tunememory.music.ways.other_key import other_key, other_mode
from tunememory.music.ways.other_metre import other_metre
from tunememory.music.ways.scale import moves, scale
from tunememory.music.ways.singing import listen, sing
from tunememory.music.ways.two_strings import double_stops, drones

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Sequence

    from tunememory.music.ways.material import Material, Subject


@dataclass(frozen=True, slots=True)
class Way:
    """A way of working on a tune.

    Attributes:
        id: Kept in the file; never changed.
        name: As players say it.
        purpose: What it is good for, in one line.
        make: Makes the material.
    """

    id: str
    name: str
    purpose: str
    make: Callable[[Subject], Material]


_ALL = (
    Way("listen", "listen, then play", "The tune as its source plays it, before the hands.",
        listen),
    Way("sing", "sing, then play", "What can be sung can be found on the strings.", sing),
    Way("scale", "its scale", "The notes of its mode under the fingers, up and down its range.",
        scale),
    Way("moves", "the awkward moves", "The few changes of string and finger that trip it.",
        moves),
    Way("drones", "open strings under it", "The root in the ear while the tune goes on.",
        drones),
    Way("stops", "double stops", "A second finger on the long notes.", double_stops),
    Way("key", "in another key", "The tune known by its steps, not by its fingers.", other_key),
    Way("mode", "in another mode", "What is the tune, and what is only its mode.", other_mode),
    Way("metre", "reel to jig and back", "The tune known by its line, not by its lilt.",
        other_metre),
    Way("chords", "chords under it", "Hear where it goes; back somebody else who plays it.",
        chords),
    Way("strum", "chords between", "Melody and chords in one hand, for playing alone.",
        strummed),
    Way("neighbours", "go on to another", "Change into a tune of the same root, and back.",
        neighbours),
)  # fmt: skip

WAYS: dict[str, Way] = {way.id: way for way in _ALL}
"""Every way by its id, in the order it is offered."""


def material(way_id: str, subject: Subject) -> Material:
    """Return the material of one way for one tune, with what is doubtful in its starts.

    Raises:
        KeyError: There is no such way.
    """
    made = WAYS[way_id].make(subject)
    doubts = [f"{start.part} start: {start.doubt}" for start in subject.starts if start.doubt]
    if not doubts or not made.possible:
        return made
    return replace(made, caution=". ".join(filter(None, (made.caution, *doubts))))


def next_way(done: Sequence[str], among: Collection[str] = WAYS.keys()) -> str:
    """Return the way to offer next: the first not yet done, else the one done longest ago.

    Args:
        done: Ids of ways done on this tune, oldest first; unknown ones are passed over.
        among: Ids that can be offered (those whose material is possible).

    Raises:
        ValueError: Nothing can be offered.
    """
    offered = [way for way in WAYS if way in among]
    if not offered:
        raise ValueError("there is no way to offer")
    last = {way: place for place, way in enumerate(done)}
    return min(offered, key=lambda way: (last.get(way, -1), offered.index(way)))
