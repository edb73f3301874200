"""Tests of the fit room."""
