"""The card for the case: tunes by tuning and key with their first notes. Pure text."""
