"""The base of every error that a person can act on."""


class ChecklistError(Exception):
    """Something outside the program is not as it must be; the text is one line and says what would be right.

    `what` is the same without the file's path, for where there is little room.
    """

    def __init__(self, text: str, what: str = "") -> None:
        super().__init__(text)
        self.what = what or text
