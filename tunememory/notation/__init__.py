"""Written music to tunes and back: ABC 2.1 and, through music21, other notations."""
