"""The bench: the local page on which a job is seen, tried, changed and worked from."""
