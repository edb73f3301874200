"""Pigment, hiding and contrast."""
