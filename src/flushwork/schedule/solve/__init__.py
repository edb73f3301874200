"""The solver of the schedule: constraint programming, and bounds that prove its answer."""
