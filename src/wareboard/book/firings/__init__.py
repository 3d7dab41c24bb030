"""Records of the kilns: firings, what was logged and what the witness cones showed, parts changed, loads moved by hand."""
