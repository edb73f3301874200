"""DXF drawings: read by a general library, joined to closed outlines, in mm."""
