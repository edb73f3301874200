"""From regions and depths to moves, to G-code file text, and back to moves."""
