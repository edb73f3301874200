"""SVG drawings: read strictly, painted as a browser paints them, refused by name where not cut."""
