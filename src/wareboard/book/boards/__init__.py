"""Boards: the groups of pieces that move together through the making, and every entry ever made about them."""
