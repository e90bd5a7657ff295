"""Small rules of written English: lists, capitals, full stops, and nouns that share their last word."""

import re
from collections.abc import Iterable, Sequence
from itertools import pairwise

from checklist.text import one_line


def joined(items: Sequence[str]) -> str:
    """Return `a`, `a and b`, `a, b and c`; a comma goes before `and` where an item holds either itself."""
    *most, last = items
    if not most:
        return last
    comma = "," if any("," in item or " and " in item for item in items) else ""
    return f"{', '.join(most)}{comma} and {last}"


def capitalised(text: str) -> str:
    """Return `text` with a capital letter in front, unless its first word has capitals of its own."""
    first = text.split(" ", 1)[0]
    return text[:1].upper() + text[1:] if first == first.lower() else text


def uncapitalised(title: str) -> str:
    """Return a title as it stands inside a sentence: `Clean hands` → `clean hands`; `CN V` stays."""
    first = title.split(" ", 1)[0]
    return title[:1].lower() + title[1:] if first[1:] == first[1:].lower() else title


_ENDED = re.compile(r"[.!?…][\"'”’»)\]]*$")


def sentence(text: str) -> str:
    """Return `text` as a sentence: one line, a capital in front, one stop at the end."""
    text = capitalised(one_line(text)).rstrip(" ,;:")
    return text if _ENDED.search(text) else f"{text}."


def in_row(texts: Iterable[str]) -> str:
    """Return texts kept apart by semicolons, without the full stops that some of them end in."""
    *most, last = texts
    return "; ".join([*(text.rstrip(" .,;:") for text in most), last])


# After one of these a noun cannot be left out: `lobe of and hair near ear` is no English.
_NEEDS_A_NOUN = frozenset(
    {
        "a",
        "an",
        "and",
        "around",
        "at",
        "behind",
        "between",
        "by",
        "for",
        "from",
        "in",
        "near",
        "of",
        "on",
        "or",
    }
    | {"over", "the", "to", "under", "with", "without"}
)


def joined_nouns(nouns: Sequence[str]) -> str:
    """Join nouns, saying the words that they end in alike once: `occipital and submental nodes`."""
    if len(nouns) < 2 or any("," in noun or " and " in noun for noun in nouns):
        return joined(nouns)
    heads, tail = _cut(nouns)
    if tail:
        return f"{joined(_folded(heads))} {tail}"
    return joined(_folded(nouns))


def _folded(nouns: Sequence[str]) -> list[str]:
    """Put neighbours that end alike into one: `hard palate`, `soft palate` → `hard and soft palate`."""
    runs: list[list[str]] = []
    for noun in nouns:
        if runs and _cut([*runs[-1], noun])[1]:
            runs[-1].append(noun)
        else:
            runs.append([noun])
    cuts = (_cut(run) if len(run) > 1 else (run, "") for run in runs)
    return [f"{joined(heads)} {tail}".rstrip() for heads, tail in cuts]


def _cut(nouns: Sequence[str]) -> tuple[list[str], str]:
    """Cut off the most words that all end in alike and that can be said once; none leaves the nouns whole."""
    split = [noun.split() for noun in nouns]
    for shared in range(_shared_tail(split), 0, -1):
        heads = [words[:-shared] for words in split]
        if all(head and head[-1] not in _NEEDS_A_NOUN for head in heads):
            return [" ".join(head) for head in heads], " ".join(split[0][-shared:])
    return list(nouns), ""


def _shared_tail(split: Sequence[list[str]]) -> int:
    """Count the words that all of `split` end in alike."""
    count = 0
    while all(len(words) > count for words in split) and len({words[-1 - count] for words in split}) == 1:
        count += 1
    return count


_LIST = re.compile(r"[,;:]|\b(and|or)\b")
_NEGATION = re.compile(r"\b(not|no|without|never|nor|neither|none)\b")
SAID = ("reports", "denies", "describes")
"""Verbs that are said once for a row of predicates that all begin with one of them."""


def joined_predicates(predicates: Sequence[str], tail: str = "") -> str:
    """Join what is said of one subject; `tail` belongs to every predicate.

    `and` joins short ones only: semicolons keep apart what holds a list of its own, and what would come under
    a negation (`not swollen and closing fully` could be read as neither).
    """
    if _can_share_and(predicates):
        return f"{joined(predicates)}{tail}"
    verb = predicates[0].split(" ", 1)[0]
    if len(predicates) > 1 and verb in SAID and all(each.startswith(f"{verb} ") for each in predicates):
        return f"{verb}: " + "; ".join(f"{each.removeprefix(verb).strip()}{tail}" for each in predicates)
    return "; ".join(f"{each}{tail}" for each in predicates)


def _can_share_and(predicates: Sequence[str]) -> bool:
    if any(_LIST.search(each) for each in predicates):
        return False
    pairs = pairwise(predicates)
    return all(_NEGATION.match(after) or not _NEGATION.search(before) for before, after in pairs)
