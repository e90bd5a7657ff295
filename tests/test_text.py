"""What a code may look like, and what looks like a person."""

import pytest

from checklist.identity import identity_warning, looks_like_a_person, text_warning

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
        ("19800229", "looks like a date"),
        ("29021980", "looks like a date"),
        ("29Feb1980", "looks like a date"),
        ("2-mar-80", "looks like a date"),
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
        "born 1980",
        "ward 3, 29.2.1980",
        "call 555-0123",
        "Dr. Smith",
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


@pytest.mark.parametrize(
    ("text", "warning"),
    [
        ("asked Mary Smith twice", NAME),
        ("Mary Smith declined", NAME),
        ("Mr. Jones was tired", NAME),
        ("told Dr Weber", NAME),
        ("her daughter is called Anna", NAME),
        ("seen 29.2.1980", "looks like a date"),
        ("since 1980-02-29", "looks like a date"),
        ("DOB 2/3/80", "looks like a date"),
        ("born in 1950", "looks like a date"),
        ("date of birth: 12 March 1950", "looks like a date"),
        ("fell on Mar 2, 1980", "looks like a date"),
        ("on the 2nd of May, 2nd May 2020", "looks like a date"),
        ("write to anna@example.org", "looks like an e-mail address"),
        ("see www.example.org", "looks like a web address"),
        ("call 079 123 45 67", NUMBER),
        ("+41 79 123 45 67", NUMBER),
        ("(555) 123-4567", NUMBER),
        ("555-0123", NUMBER),
        ("tel. 12345 67", NUMBER),
        ("MRN 123456", NUMBER),
        ("record no. 4711", NUMBER),
        ("SSN 123-45-6789", NUMBER),
        ("756.1234.5678.97", NUMBER),
        ("93 years old", "looks like an age above 89"),
        ("a 92-year-old", "looks like an age above 89"),
        ("aged 104", "looks like an age above 89"),
    ],
)
def test_own_words_that_look_like_an_identity_are_named_as_what(text: str, warning: str) -> None:
    assert text_warning(text) == warning


@pytest.mark.parametrize(
    "text",
    [
        "",
        "upper half, no discharge",
        '3 x 4 mm, dry, "raw"',
        "BP 120/80 right, 135/85 left, pulse 72",
        "2/6 whispered items (1/3, then 1/3)",
        "20/25-1 with glasses, N6 at 60 cm",
        "blood pressure 120 80, then 75 16 98",
        "0900-0930 and 14:05",
        "Temp 37.2, SpO2 98 %",
        "0.5-1.5 cm below the margin",
        "since Monday, worse in March",
        "Asked twice. Prefers not to be touched.",
        "Left Weber louder, Rinne negative",
        "Glasgow Coma Scale 15",
        "Nurse in charge called at once",
        "aged 45, 10 pack years",
        "MRC 4/5, CN VII intact on the right",
    ],
)
def test_own_words_with_measures_times_and_names_of_tests_do_not_look_like_a_person(text: str) -> None:
    assert text_warning(text) is None
