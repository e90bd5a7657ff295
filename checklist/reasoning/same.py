"""A session as the key of what was worked out from it: between two events the same is asked many times."""

from checklist.session.session import Session


class Same:
    """Equal for one and the same session value, and for no other."""

    def __init__(self, session: Session) -> None:
        self.session = session

    def __hash__(self) -> int:
        return id(self.session)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and other.session is self.session
