"""Phones in the workshop: certificate, addresses, signing in, and what each person may do."""
