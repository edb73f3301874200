"""What each cutter can reproduce of an inlay, and which cutters to use."""
