"""An item to its seat: the cuts that hold it and the room it takes."""
