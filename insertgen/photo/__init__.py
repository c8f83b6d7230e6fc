"""A photograph with reference squares to an outline in millimetres."""
