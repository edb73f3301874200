"""Drawings and pictures: of faces, sections, days and findings."""
