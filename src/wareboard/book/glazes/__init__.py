"""Records of the glaze book: the shelf, recipes and their versions, batches, tiles, tests."""
