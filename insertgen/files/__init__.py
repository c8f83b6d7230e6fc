"""Job and shape files to nouns and back, with the line of every fault."""
