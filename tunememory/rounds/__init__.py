"""Rounds of checks: choosing, planning, asking, recording."""
