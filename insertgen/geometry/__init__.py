"""Plane geometry; the only door to shapely."""
