"""Protocols: what is examined, in which order, and what is expected."""
