"""From regions and depths to moves, to cut-file text, and back to moves."""
