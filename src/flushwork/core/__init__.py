"""What every room may lean on: findings, errors, tolerances, quantities with their units."""
