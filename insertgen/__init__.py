"""insertgen: fitted inserts for the trays of a workshop cabinet, from a photo to the cut files."""

__version__ = "0.1.0"
