"""Dates to be ready for, days off, and what to start tonight."""
