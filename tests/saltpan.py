"""The evening on which tests open the Saltpan Hall repertoire with nothing learned from it."""

from datetime import UTC, datetime

SALTPAN_NOW = datetime(2026, 11, 24, 19, tzinfo=UTC)
