"""The text of the files: read with the place of every key, edited in place, written back."""
