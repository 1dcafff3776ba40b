"""How boldly to plan: all tunes as evenly as can be, or building up those that grow.

Where memory lasts and grows little, going round evenly keeps most; where it drops what waits and
multiplies what comes, it is better to leave the weakest for now and make the others safe, a few
at a time. Which it is, the player's own checks say (``memory.kinds``).
"""

from __future__ import annotations

EVEN, BEGIN, BOLD = 0.0, 1.0, 3.0
"""Focus (``gain.asking``) for a memory that lasts, before it is known, and for a sharp one. The
one to begin with costs a memory that lasts nothing to speak of in the weeks until it is known."""

FIRST_LOOK = 70
"""Checks from which on the kind may show."""

MORE = 0.1
"""Share of the checks at the last look that must be new for another."""

SURE, HARDLY = 6.0, 2.0
"""Log odds for a sharp memory above which to plan boldly, and to go on with it."""

DOUBTFUL, LEAST = 3.0, 110
"""Log odds below which to plan evenly, with so many checks: a sharp memory shows itself early."""

PATIENCE = 300
"""Checks after which a memory that shows no kind is taken to last."""

# The numbers above were chosen on simulated players (tests/benchmarks).


def look_is_due(checks: int, looked_at: int) -> bool:
    """Whether to look again with ``checks`` when the last look was at ``looked_at`` (0: none)."""
    return checks >= max(FIRST_LOOK, (1.0 + MORE) * looked_at)


def focus_for(leaning: float, checks: int, in_use: float) -> float:
    """Return how boldly to plan from now on.

    Args:
        leaning: Log odds for a sharp memory (``kinds.leaning``).
        checks: Checks they rest on.
        in_use: Focus until now.
    """
    if leaning > (HARDLY if in_use == BOLD else SURE):
        return BOLD
    lasts = checks >= LEAST and (leaning < DOUBTFUL or checks > PATIENCE)
    return EVEN if lasts else BEGIN
