"""Pictures of dots: reduced to a few colours, traced to smooth regions, in mm."""
