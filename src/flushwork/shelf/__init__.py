"""What a shop has: wood, resins, pigments, bits, measuring tools."""
