"""One question to a file; each answer is a ratio against a named reference, never a bare time."""
