"""Words as outlines or single lines, by packaged fonts or a font file."""
