"""What each bit can reproduce of an inlay, and which bits to use."""
