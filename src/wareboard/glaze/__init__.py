"""Glaze: materials, recipes, unity formula, expansion, slip and how much a job needs."""
