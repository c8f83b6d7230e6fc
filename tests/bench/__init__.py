"""Measurements of how well and how fast; run by hand, not by the tests."""
