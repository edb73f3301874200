"""The job on the desk: its text, its builds, and what is remembered of them."""
