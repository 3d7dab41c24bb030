"""Measurements at the bench: weights and sizes by stage, drying weigh-ins, glaze pick-up, slip density, the room's air."""
