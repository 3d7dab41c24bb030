"""Kiln: cones and heat work, firing schedules, energy, and what stands in a load."""
