"""Points of no return: what is at stake, and what to look at before."""
