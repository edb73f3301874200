"""The only declaration of every key of the job and shop files: its record, its kind, its words."""
