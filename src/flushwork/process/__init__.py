"""From artwork to stages, rounds and setups: what is done, in which order, and why."""
