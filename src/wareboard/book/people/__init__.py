"""The people of the workshop, their phones, and how they come in."""
