"""The book: what the workshop keeps. Commissions, every version of their briefs, and the workshop's own file."""
