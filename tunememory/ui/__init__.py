"""The Textual interface. The only package that imports Textual."""
