"""Rules about the G-code files, and what holds the piece while they run."""
