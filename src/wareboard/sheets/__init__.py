"""Printed sheets: a plan as a dossier of PDF, SVG, CSV, JSON, TOML and iCalendar files."""
