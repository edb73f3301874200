"""The run of all pieces over the shop's days, and what it costs."""
