"""From stages to orders for the machine."""
