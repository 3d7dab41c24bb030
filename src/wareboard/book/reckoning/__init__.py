"""What the workshop's own records say: figures learned, run charts, a study of the gauge, the best-matched set.

Pure: no clock, no file, no setting, no database. Records are turned into floats and frozen dataclasses before they come
here; ages are passed in.
"""
