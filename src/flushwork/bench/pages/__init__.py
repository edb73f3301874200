"""The records that the pages of the bench show."""
