"""The jobs of a shop, and its own file."""
