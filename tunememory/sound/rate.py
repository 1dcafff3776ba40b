"""How finely sound is cut. Apart from the rest, which loads numpy."""

from __future__ import annotations

RATE = 44_100
"""Samples a second, as on a compact disc (IEC 60908)."""
