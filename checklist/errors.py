"""The base of every error that a person can act on."""


class ChecklistError(Exception):
    """Something outside the program is not as it must be; the text is one line and says what to do."""
