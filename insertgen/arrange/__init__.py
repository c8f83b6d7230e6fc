"""Seats to places on the blank of a tray."""
