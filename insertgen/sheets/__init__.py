"""Placed seats to the drawing of each sheet: layers, contours, holes."""
