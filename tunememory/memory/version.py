"""Which memory this is. Apart from the rest, which loads numpy."""

from __future__ import annotations

MODEL = 3
"""Goes up by one whenever the same history gives other beliefs: by other rules, other starting
values, or another way of keeping them. What was kept under an earlier one is worked out anew."""
