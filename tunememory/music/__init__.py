"""The music itself: pitch, key, metre, tune; starts written, fingered, drawn, compared."""
