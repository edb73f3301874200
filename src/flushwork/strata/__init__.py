"""The layered replay: a board as a stack of surfaces, stage by stage."""
