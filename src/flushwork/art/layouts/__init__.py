"""Boards of games and ornament by their measures: their areas, lines, holes and numbers."""
