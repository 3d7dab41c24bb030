"""How true each printer prints: what its lines of 100 mm measured, and the correction that follows."""
