"""Form: the profile of a piece of revolution, its wall, capacity, weight and handle."""
