"""Artwork to regions, strokes and points in mm on a face."""
