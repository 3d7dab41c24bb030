"""The studio: pages for the desk and the bench, in a browser on this machine."""
