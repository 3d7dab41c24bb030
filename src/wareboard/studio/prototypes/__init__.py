"""Pages of the prototype: its approval, the mark, the painting, tiles by colour."""
