"""What the computations over findings of the eyes share: was it as expected, and how fast is it told. Pure.

A finding that no option names says nothing: what it means for the question is then not known.
"""

from collections.abc import Collection, Iterable, Mapping

from checklist.measures.reading import Fact, Facts, Meaning, Options, Remark

Inputs = Mapping[str, Facts]


def is_there(fact: Fact | None, off: Collection[str], on: Collection[str] = ()) -> bool | None:
    """Return whether what was looked for was there; None when it was not examined or is not clear.

    `off` are the findings that say it was not there, `on` those that differ otherwise.
    """
    if fact is None:
        return None
    if not fact.classes.isdisjoint(off):
        return False
    return True if fact.is_expected or not fact.classes.isdisjoint(on) else None


def is_all_known(facts: Iterable[Fact], options: Options) -> bool:
    """Whether all that differs was recorded as known before and unchanged."""
    known = options.texts("known")
    return all(not fact.classes.isdisjoint(known) for fact in facts)


def concluded(pattern: str, facts: Iterable[Fact], options: Options) -> tuple[str, str]:
    """Return a pattern as something to consider, and how fast that is told."""
    if is_all_known(facts, options):
        return f"pattern of {pattern}, recorded as known: consider", "note"
    tell = options.text("tell")
    return f"pattern of {pattern}: consider and {'tell at once' if tell == 'urgent' else 'report'}", tell


def computation(
    words: str,
    chart: str,
    classes: Iterable[str],
    remarks: Iterable[Remark] = (),
    figures: Mapping[str, float] | None = None,
) -> Meaning:
    """Return what several entries come to; it has no text of its own, as nobody typed it."""
    return Meaning(
        text="",
        words=words,
        chart=chart,
        classes=tuple(dict.fromkeys(classes)),
        remarks=tuple(remarks),
        figures=figures or {},
    )


def in_row(parts: Iterable[str]) -> str:
    """Return `a`, `a and b`, or `a, b and c`."""
    *first, last = (*parts,) or ("",)
    return f"{', '.join(first)} and {last}" if first else last
