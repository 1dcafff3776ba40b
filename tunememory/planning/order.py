"""In which order a round asks: roots mixed, twins side by side."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.planning.standing import Pick, Standing


def mix_roots(standing: Standing, picks: Sequence[Pick]) -> list[Pick]:
    """Return ``picks`` so that neighbours have different roots where that is possible.

    Neighbours of one root would give the key away. Twins that are both in the round stay side
    by side, whatever their roots: there the question is where they part. The order given
    (worth first) is otherwise kept as far as it can be, so that a round stopped early has
    asked what matters most.
    """
    blocks = _twin_blocks(standing, picks)
    mixed: list[Pick] = []
    while blocks:
        last_root = int(standing.root[mixed[-1].place]) if mixed else None
        roots = [int(standing.root[block[0].place]) for block in blocks]
        # A root that fills half of what is left must go now, or it would end in a row.
        commonest = max(set(roots), key=lambda root: (roots.count(root), -roots.index(root)))
        if commonest != last_root and 2 * roots.count(commonest) > len(blocks):
            chosen = roots.index(commonest)
        else:
            chosen = next((i for i, root in enumerate(roots) if root != last_root), 0)
        mixed.extend(blocks.pop(chosen))
    return mixed


def _twin_blocks(standing: Standing, picks: Sequence[Pick]) -> list[list[Pick]]:
    blocks: list[list[Pick]] = []
    used: set[int] = set()
    for pick in picks:
        if pick.place in used:
            continue
        block = [pick]
        used.add(pick.place)
        mates = standing.twins.get(pick.place, frozenset())
        for other in picks:
            if other.place in mates and other.place not in used:
                block.append(other)
                used.add(other.place)
                break
        blocks.append(block)
    return blocks
