"""What the readers of head and neck share. Pure."""

from checklist.measures.reading import Fact

NUMBER = r"([0-9]{1,3}(?:\.[0-9]{1,2})?)"


def expected_unsaid(fact: Fact) -> bool:
    """Whether an entry was recorded as expected and nothing else is known of it."""
    return fact.is_expected and not fact.classes
