"""Tunes played one after the other."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class TuneSet:
    """A set, or medley.

    Attributes:
        uuid: Random identity.
        name: As the player calls it; may be empty.
        tunes: Identities of its tunes, in order; one may come twice.
    """

    uuid: str
    name: str
    tunes: tuple[str, ...] = ()
