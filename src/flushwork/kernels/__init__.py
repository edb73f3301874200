"""Arrays in, arrays out: the loops that touch millions of cells."""
