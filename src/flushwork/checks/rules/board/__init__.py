"""Rules about the wood, the artwork and how they lie to each other."""
