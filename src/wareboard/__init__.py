"""Plan, make, record and repeat commissions of matched handmade tableware."""

__version__ = "0.1.0"
