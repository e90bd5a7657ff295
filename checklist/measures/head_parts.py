"""What the readers of head and neck share. Pure."""

from checklist.measures.reading import Fact


def expected_unsaid(fact: Fact) -> bool:
    """Whether an entry was recorded as expected and nothing else is known of it."""
    return fact.is_expected and not fact.classes
