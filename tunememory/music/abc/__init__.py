"""ABC 2.1 to tunes and back."""
