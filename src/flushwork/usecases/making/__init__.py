"""A job made out of drawings, words and parts: each act a change of its text."""
