"""Lets the tests of one folder use the samples of another: this folder is on the path."""
