"""The commands about the guesses themselves: fading --how-well, forecast, fit."""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from dataclasses import asdict
from typing import TYPE_CHECKING

from tunememory.cli.opening import open_session_of
from tunememory.cli.output import print_json

if TYPE_CHECKING:
    import argparse

    from tunememory.forecast.how_well import ChanceStep, HowWell
    from tunememory.forecast.own_parameters import Tried
    from tunememory.forecast.year import YearAhead


_POINTS_PRINTED = 13
"""Evenings of a year that are printed: about one a month."""

_CALMER = 10
"""How much a fit in the background gives way to what is in front."""


def how_well(options: argparse.Namespace) -> int:
    """Print what was said against what came."""
    from tunememory.forecast import how_well as looking_back  # noqa: PLC0415 - loads numpy

    with open_session_of(options) as session:
        found = looking_back.how_well_guessed(session)
    if options.json:
        print_json(_how_well_keys(found), places=None)
        return 0
    if found.steps:
        print("  we said   came in 100   range      checks")
    for step in reversed(found.steps):
        print(_step_line(step))
    if found.enough:
        print(_loss_line(found))
    for sentence in looking_back.sentences(found):
        print(sentence)
    print(looking_back.OWN_LEVEL)
    return 0


def forecast(options: argparse.Namespace) -> int:
    """Print how many tunes the minutes keep over the next year."""
    from tunememory.forecast import year  # noqa: PLC0415 - loads numpy

    watched = sys.stderr.isatty() and not options.json

    def progress(share: float) -> None:
        if watched:
            end = "\n" if share >= 1.0 else ""
            print(f"\rliving the year: {100 * share:3.0f} %", end=end, file=sys.stderr, flush=True)

    with open_session_of(options) as session:
        minutes = session.settings.minutes_first if options.minutes is None else options.minutes
        found = year.year_ahead(session, minutes, options.tunes, options.new_per_month, progress)
    if options.json:
        print_json(found, places=None)
        return 0
    _print_year(found)
    print(year.sentence(found))
    print(year.assumed(found))
    return 0


def fit(options: argparse.Namespace) -> int:
    """Fit the memory to the player, or go back."""
    from tunememory.forecast import own_parameters  # noqa: PLC0415 - loads numpy

    with open_session_of(options) as session:
        if options.undo:
            if own_parameters.guessed_with(session).fitted_on is not None:
                own_parameters.guess_with_other(session)
            print("in use: the starting values")
            return 0
        if options.if_due:
            with suppress(OSError, AttributeError):
                os.nice(_CALMER)
        if own_parameters.look_is_due(session):
            own_parameters.look(session)
        if options.if_due and not own_parameters.fit_is_due(session):
            return 0
        tried = own_parameters.try_fit(session)
        if options.json:
            print_json(tried, places=None)
            return 0
        print(_tried_words(tried))
        print(f"in use: {own_parameters.guessed_with(session).words}")
        print(own_parameters.focus_words(session.params.focus))
    return 0


def _tried_words(tried: Tried) -> str:
    share = f"each {abs(100 * tried.won):.1f} % {'likelier' if tried.won > 0 else 'less likely'}"
    if tried.taken:
        return (
            f"learned from {tried.checks} checks; the latest {tried.held_out} levels, "
            f"which it had not seen, were foretold better ({share})"
        )
    return (
        f"learned from {tried.checks} checks, but the latest {tried.held_out} levels, "
        f"which it had not seen, were foretold no better ({share}): nothing changes"
    )


def _how_well_keys(found: HowWell) -> dict[str, object]:
    from tunememory.forecast.how_well import ENOUGH  # noqa: PLC0415 - loads numpy

    return {
        "steps": [{**asdict(step), "enough": step.enough} for step in found.steps],
        "checks": found.checks,
        "needed": ENOUGH,
        "said": found.said,
        "came": found.came,
        "leaning": found.leaning,
        "log_loss": found.log_loss,
        "brier": found.brier,
        "average_log_loss": found.average_log_loss,
        "average_brier": found.average_brier,
        "own_since": found.own_since,
        "enough": found.enough,
    }


def _step_line(step: ChanceStep) -> str:
    few = "" if step.enough else "   few"
    band = f"{100 * step.low:.0f} to {100 * step.high:.0f}"
    return (
        f"  {100 * step.said:>5.0f}     {100 * step.came:>8.0f}       "
        f"{band:<10} {step.checks:>5.0f}{few}"
    )


def _loss_line(found: HowWell) -> str:
    return (
        f"  log loss {found.log_loss:.3f}, always the average {found.average_log_loss:.3f}; "
        f"Brier {found.brier:.3f}, always the average {found.average_brier:.3f} (less is better)"
    )


def _print_year(found: YearAhead) -> None:
    last = len(found.points) - 1
    shown = sorted({round(k * last / (_POINTS_PRINTED - 1)) for k in range(_POINTS_PRINTED)})
    print("    day   tunes   would come   range        sure")
    for point in (found.points[k] for k in shown):
        band = f"{point.low:.0f} to {point.high:.0f}"
        print(
            f"  {point.day:>5}   {point.tunes:>5}   {point.middle:>10.0f}   {band:<12} "
            f"{point.sure:.0f}"
        )
