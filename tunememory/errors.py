"""Errors a front end shows as they are."""

from __future__ import annotations


class NotDoneError(Exception):
    """Something the player asked for could not be done; the text is one clear line."""
