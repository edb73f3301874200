"""The shop's pages: the jobs of a folder as cards, the shop's own file, the first minute."""
