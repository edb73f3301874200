"""The registry of rules that look for every known way to ruin the board."""
