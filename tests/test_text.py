"""What a code may look like, and what looks like a person."""

import pytest

from checklist.text import identity_warning, looks_like_a_person

NAME, NUMBER = "looks like a name", "looks like a record or telephone number"


@pytest.mark.parametrize(
    "code",
    [
        "P-014",
        "S-07",
        "N-12",
        "p3",
        "P1",
        "x",
        "",
        "E-2",
        "ab",
        "group7",
        "7-abc",
        "P-014b",
        "A-B-C",
        "12 34",
    ],
)
def test_a_made_up_code_is_no_identity(code: str) -> None:
    assert identity_warning(code) is None


@pytest.mark.parametrize(
    ("code", "warning"),
    [
        ("MarySmith", NAME),
        ("mary", NAME),
        ("Jane Doe", NAME),
        ("nurse", NAME),
        ("Bob", NAME),
        ("Zoë", NAME),
        ("Jo Li", NAME),
        ("Mary Smith 2", NAME),
        ("jo.li7", NAME),
        ("mary_smith1", NAME),
        ("m@x", "looks like an e-mail address"),
        ("1980-02-29", "looks like a date"),
        ("29.2.80", "looks like a date"),
        ("079 123 45 67", NUMBER),
        ("123456", NUMBER),
        ("MRN 1234567", NUMBER),
    ],
)
def test_a_code_that_looks_like_an_identity_is_named_as_what(code: str, warning: str) -> None:
    assert identity_warning(code) == warning


@pytest.mark.parametrize(
    "text",
    [
        "Anna Smith",
        "told Anna Smith",
        "Dr Smith",
        "Élodie O’Neill",
        "Smith, Anna",
        "Anna-Lena McDonald",
        "anna@example.org",
        "nurse 123456",
        "079 123 45 67",
        "12-34-56",
    ],
)
def test_a_name_an_address_or_a_long_number_looks_like_a_person(text: str) -> None:
    assert looks_like_a_person(text)


@pytest.mark.parametrize(
    "text",
    [
        "nurse in charge",
        "Charge nurse",
        "N-12",
        "N-12 S-07",
        "ICU Nurse",
        "Nurse N-12",
        "the Nurse on Duty",
        "ward 12345",
        "rapid response team",
        "",
    ],
)
def test_a_role_or_a_code_does_not_look_like_a_person(text: str) -> None:
    assert not looks_like_a_person(text)
