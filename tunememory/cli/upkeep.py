"""The commands that look after the file."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from tunememory.cli.opening import open_desk_of

if TYPE_CHECKING:
    import argparse


def verify(options: argparse.Namespace) -> int:
    """Check that the file is sound."""
    from tunememory.service.remembering import differing  # noqa: PLC0415 - loads numpy

    with open_desk_of(options) as desk:
        problems = desk.repertoire.verify()
        wrong = differing(desk)
        if wrong:
            problems.append(f"{wrong} beliefs differ from the history: run tunememory rebuild")
        for problem in problems:
            print(f"tunememory: {problem}", file=sys.stderr)
        if problems:
            return 1
        print(
            f"{desk.path}: sound, {len(desk.tunes)} tunes, {desk.repertoire.check_count()} checks"
        )
    return 0


def rebuild(options: argparse.Namespace) -> int:
    """Work out the beliefs anew from the history."""
    from tunememory.service.remembering import rebuild as again  # noqa: PLC0415 - loads numpy

    with open_desk_of(options) as desk:
        changed = again(desk)
        print(f"beliefs of {len(desk.tunes)} tunes worked out anew, {changed} differed")
    return 0
