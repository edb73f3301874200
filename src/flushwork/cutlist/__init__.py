"""How parts come out of boards: sizes in mm along and across the grain, nothing of any job."""
