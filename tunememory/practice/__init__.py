"""The practice day: sitting, work-list, journal, what was heard."""
