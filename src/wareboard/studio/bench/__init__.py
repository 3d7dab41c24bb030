"""The bench: pages for a phone and clay on both hands, the day's page, entries kept without a network, and paper."""
