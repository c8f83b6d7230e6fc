"""The order of the stages; the only room that writes to the disk."""
