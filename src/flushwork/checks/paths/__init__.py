"""Where G-code files lead their bits, held against the drawing by exact geometry."""
