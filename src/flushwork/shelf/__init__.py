"""What a shop has: timber, resins, pigments, cutters, measuring tools."""
