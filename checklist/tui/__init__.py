"""The full-screen app: draws values and passes keys on; no rules of the trade, no file access of its own."""
