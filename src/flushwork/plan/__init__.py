"""Stages and mountings: what is done, in which order, and why."""
