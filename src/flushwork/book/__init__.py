"""The printed shop book and its pictures."""
