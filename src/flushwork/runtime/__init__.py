"""How work is run: shared among threads and processes, and told in one log."""
