"""Moves to the text of a G-code file."""
