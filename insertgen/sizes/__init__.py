"""The tables of sizes of the trade as typed data, and the search in them."""
