"""Forms that the records of firings have had."""
