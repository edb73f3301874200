"""Plans, proves and documents coloured-resin inlay in machined wood."""

__version__ = "0.1.0"
