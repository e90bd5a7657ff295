"""What the records of several steps mean together: computations, patterns, contradictions. Pure."""
