"""Finished pieces and what follows them: entering, grading, tracing, matching, after."""
