"""Clay: shrinkage by stage and dimension, ball weights, cutting a block, drying."""
