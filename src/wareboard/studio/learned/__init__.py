"""The pages on what the workshop's records teach."""
