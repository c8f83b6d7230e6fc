"""Shapes and typed sizes to items: what is to be stored, with its outline."""
