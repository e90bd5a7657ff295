"""What is computed over several steps, and which findings belong together, as the screen shows it."""

from collections.abc import Iterator

from checklist.session.session import Session
from checklist.summary.words import capitalised
from checklist.tui.draw import BLANK, Line, labelled

TELLS = {"note": "", "report": "Report. ", "urgent": "TELL AT ONCE. "}


def considered_words(session: Session) -> list[str]:
    """Return what follows from the record and is to be considered or told, each in one line."""
    if not session.protocol.steps_put_together:
        return []
    from checklist.summary.considered import computed, considered

    found = [(each.tell, each.words) for each in considered(session)]
    found += [(item.meaning.tell, item.brief) for item in computed(session) if item.meaning.tell in TELLS]
    return [f"{TELLS[tell]}{capitalised(words)}" for tell, words in found]


def together_lines(session: Session, width: int) -> list[Line]:
    """Return everything computed, with its inputs, and every complete pattern, with what it rests on."""
    lines: list[Line] = [(("Computed and together, from what is recorded so far", "title"),), BLANK]
    found = list(_found(session, width))
    if not found:
        return [*lines, (("Nothing yet.", "quiet"),)]
    caution = "An aid, no diagnosis: local policy, scope of practice and the licensed clinician decide."
    return [*lines, *found, *labelled("", caution, width, "quiet")]


def _found(session: Session, width: int) -> Iterator[Line]:
    from checklist.summary.considered import computed, considered

    for each in considered(session):
        yield from labelled("Consider", f"{TELLS[each.tell]}{capitalised(each.words)}", width, "warn", "warn")
        yield from labelled("", f"Rests on: {each.rests_on}. Source: {each.source}.", width, "quiet")
        yield BLANK
    for item in computed(session):
        yield from labelled("Computed", item.words, width, "strong")
        for remark in item.meaning.remarks:
            said = "" if remark.text in item.words else f"{remark.text}. "
            yield from labelled("", f"{said}Source: {remark.source}.", width, "quiet")
        yield BLANK
