"""The odds that a piece comes out right: what varies, and what it does to the board."""
