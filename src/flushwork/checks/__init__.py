"""The rules that look for every known way to ruin the board, the odds, and the fixes."""
