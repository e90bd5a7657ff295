"""Sessions: what happened in one run of a protocol, and the one file that records it."""
