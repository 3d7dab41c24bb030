"""Paint: tiles and their raw and fired colours, artwork to zones, coats and their order, how much of each colour."""
