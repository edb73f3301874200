"""What every room stands on: findings, errors, units, words, and how keys are declared."""
