"""Finished pieces: numbered, graded, traced back to clay and glaze and firing, and what follows their delivery."""
