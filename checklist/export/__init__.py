"""A session in formats that other programs read: session in, text out. Pure; adds nothing to the record."""
