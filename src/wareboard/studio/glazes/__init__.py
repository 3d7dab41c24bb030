"""Pages of the glaze book."""
