"""What the page draws: tiles, stills, sections, and where the bits go."""
