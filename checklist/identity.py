"""Which words look like a person's identity: a reason to look once more, and no more than that."""

import re
from itertools import pairwise

# What looks like a person's identity: the kinds follow the identifiers listed in 45 CFR 164.514(b)(2).

NAME, MAIL, DATE, AGE = "a name", "an e-mail address", "a date", "an age above 89"
NUMBER, WEB = "a record or telephone number", "a web address"

_MONTH = "(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]{0,6}"
_NAMED_DATE = re.compile(
    rf"\b\d{{1,2}}(?:st|nd|rd|th)?[\s.-]*{_MONTH}[\s.,-]*\d{{2,4}}\b|\b{_MONTH}[\s.]+\d{{1,2}}[\s.,]+\d{{4}}\b",
    re.IGNORECASE,
)
_DATE = re.compile(r"\b\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}\b")
_RUN_DATE = re.compile(
    r"(?<!\d)(?:(?:19|20)\d\d(?:0[1-9]|1[0-2])(?:0[1-9]|[12]\d|3[01])"
    r"|(?:0[1-9]|[12]\d|3[01])(?:0[1-9]|1[0-2])(?:19|20)\d\d)(?!\d)"
)
_LONG_NUMBER = re.compile(r"\d[\d\s-]{4,}\d")
_MAIL = re.compile(r"\S@\S")
_LETTERS = re.compile(r"[^\W\d_]{2,}")
_THREE_LETTERS = re.compile(r"[^\W\d_]{3}")


def identity_warning(code: str) -> str | None:
    """Say why a participant or examiner code looks like an identity, or return None.

    A code is a made-up label such as `P-014`.
    The answer is a reason to ask once more: a code of one's own may look like anything.
    """
    if _MAIL.search(code):
        return f"looks like {MAIL}"
    if _DATE.search(code) or _RUN_DATE.search(code) or _NAMED_DATE.search(code):
        return f"looks like {DATE}"
    if _LONG_NUMBER.search(code):
        return f"looks like {NUMBER}"
    has_digit = any(character.isdigit() for character in code)
    if len(_LETTERS.findall(code)) >= 2 or (_THREE_LETTERS.search(code) and not has_digit):
        return f"looks like {NAME}"
    return None


_SIX_DIGITS = re.compile(r"\d(?:[\s-]?\d){5}")
_INSIDE_A_NAME = re.compile(r"['’.,;-]")


def looks_like_a_person(text: str) -> bool:
    """Whether free text for a role or code holds a name in capitals, or something that a text warns of."""
    if _MAIL.search(text) or _SIX_DIGITS.search(text) or text_warning(text):
        return True
    words = [_is_capitalised(word) for word in text.split()]
    return any(first and second for first, second in pairwise(words))


def _is_capitalised(word: str) -> bool:
    """Whether a word is written as a name is: `Anna`, `O'Neill`; not `ICU`, nor `N-12`."""
    letters = _INSIDE_A_NAME.sub("", word)
    return letters.isalpha() and letters[0].isupper() and not letters.isupper()


# In the words of a finding stand times, measures and fractions (`120/80`, `0900-0930`, `2/6`, `3 x 4 mm`), so
# that only what is written in full counts here.
_FULL_DATE = re.compile(
    r"(?<![\d.])(?:\d{1,2}([-/.])\d{1,2}\1(?:\d{4}|\d{2})|\d{4}([-/.])\d{1,2}\2\d{1,2})(?!\d)"
)
_BORN = re.compile(r"\b(?:born|d\.?o\.?b\b\.?|date of birth|birthday)\W{0,3}(?:\w+ ){0,2}\d", re.IGNORECASE)
_PHONE = re.compile(
    r"(?<![\d.,])(?:\+|00|\(?0(?=\d))[\d\s()./-]{8,}\d"
    r"|\(?\b\d{3}\)?[ .-]\d{3}[ .-]\d{4}\b|\b[2-9]\d{2}-\d{4}\b"
    r"|\b(?:tel|telephone|phone|mobile|fax)\b\W*(?:\w+ )?\d[\d\s-]{3,}\d",
    re.IGNORECASE,
)
_RECORD = re.compile(
    r"\d{6,}|\b\d{3}-\d{2}-\d{4}\b|\b\d{3}(?:[ .]\d{4}){2}[ .]\d{2}\b"
    r"|\b(?:mrn|ssn|nhs|record|case|chart|file|account|insurance|policy|patient|id)\b"
    r"(?:\s*(?:no|nr|number|id)\b\.?)?\s*[:#]?\s*\d{4,}",
    re.IGNORECASE,
)
_AGE = re.compile(
    r"\b(?:9\d|1[0-2]\d)[\s-]*(?:years?|yrs?|y)[\s-]*(?:old|o)\b|\b(?:aged?|age:?)\s+(?:9\d|1[0-2]\d)\b",
    re.IGNORECASE,
)
_WEB = re.compile(r"\bhttps?://|\bwww\.", re.IGNORECASE)
_TITLED = re.compile(r"\b(?:Mr|Mrs|Ms|Miss|Mx|Dr|Prof|Herr|Frau|Madame|Monsieur)\b\.?\s+[A-ZÀ-Þ][a-zà-ÿ'’]")
_CALLED = re.compile(r"\b(?:is|was)? ?(?:named?|called)(?: is)?\s+[A-ZÀ-Þ][a-zà-ÿ]+")


def text_warning(text: str) -> str | None:
    """Say what in an examiner's own words looks like a person's identity, or return None.

    A reason to look once more, and no more: it neither finds every name, nor is everything that it finds one.
    """
    kinds = {
        MAIL: (_MAIL,),
        WEB: (_WEB,),
        DATE: (_FULL_DATE, _BORN, _NAMED_DATE, _RUN_DATE),
        NUMBER: (_PHONE, _RECORD),
        AGE: (_AGE,),
        NAME: (_TITLED, _CALLED),
    }
    for kind, patterns in kinds.items():
        if any(pattern.search(text) for pattern in patterns):
            return f"looks like {kind}"
    return f"looks like {NAME}" if _holds_two_names(text) else None


_NO_FIRST_NAME = re.compile(
    r"(?:a|an|and|are|as|asked|at|bilateral|both|but|by|can|could|did|does|felt|for|from|gave|had|has|he|her|his"
    r"|i|in|is|it|left|lower|no|not|on|one|or|patient|patient.s|pt|reported|reports|right|said|says|seen|she"
    r"|some|still|the|their|then|there|they|this|to|told|two|upper|was|were|when|with|without"
    r"|(?:mon|tues|wednes|thurs|fri|satur|sun)day|january|february|march|april|may|june|july|august"
    r"|september|october|november|december"
    r"|allen|babinski|coma|dix|epley|glasgow|hirschberg|homans|ishihara|mcburney|medical|murphy|numeric"
    r"|rinne|romberg|rovsing|snellen|weber|nurse|doctor|charge|ward),?",
    re.IGNORECASE,
)
"""Words that open a sentence, names of signs and tests, and roles: a capital after them makes no name."""


def _holds_two_names(text: str) -> bool:
    """Whether two words written as names stand side by side: `Anna Smith`; not `Left Weber`."""
    words = text.split()
    return any(
        _is_capitalised(first)
        and _is_capitalised(second)
        and first[-1] not in ".;:!?"
        and not _NO_FIRST_NAME.fullmatch(first)
        for first, second in pairwise(words)
    )
