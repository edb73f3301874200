"""Moisture and movement."""
