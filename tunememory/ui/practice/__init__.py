"""Practice on the screen, the journal, and what was heard."""
