"""Random identities of rows that two copies of a file could both make."""

from __future__ import annotations

import uuid


def new_identity() -> str:
    """Return a random identity (RFC 9562 version 4)."""
    return str(uuid.uuid4())
