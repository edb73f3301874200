"""Mixes, batches and measuring: the physics and arithmetic of the fill."""
