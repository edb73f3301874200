"""G-code files: written, read back, timed, and where they take the bit."""
