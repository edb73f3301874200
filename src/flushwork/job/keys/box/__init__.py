"""The mitred box: its walls with what holds the board, and what is let into them."""
