"""MusicXML, MIDI and Plaine & Easie; music21 lives here, in a child process."""
