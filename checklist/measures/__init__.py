"""What is measured at a step: read what was typed, compute, compare with a named source, word it. Pure."""
