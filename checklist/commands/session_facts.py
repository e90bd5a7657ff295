"""What a session file holds, for a person who decides how long to keep it. Repeats no typed words."""

from collections import Counter
from collections.abc import Iterator

from checklist.identity import identity_warning, text_warning
from checklist.session.archive import beside
from checklist.session.closing import name_warning
from checklist.session.events import Amended, Signed, Unknown
from checklist.session.seal import seals
from checklist.session.session import Session
from checklist.session.standing import tally
from checklist.session.store import Loaded
from checklist.summary.deidentified import typed_words
from checklist.text import one_line


def facts(loaded: Loaded) -> Iterator[tuple[str, str]]:
    """Return names and texts: header, counts, typed words or none, signed or not, what lies beside it."""
    session, header = loaded.session, loaded.session.header
    yield "id", header.id
    yield "file", one_line(f"{loaded.path}, {loaded.whole_bytes + loaded.torn_bytes} bytes")
    yield "protocol", f"{session.protocol.title}, version {session.protocol.version}"
    yield "created", f"{header.created:%Y-%m-%d %H:%M %z}".rstrip()
    yield "kind", ", ".join(_kind(session))
    yield "codes", ", ".join(_codes(session))
    yield "age band", header.age or "none"
    yield "state", f"{session.state.stage}, {session.state.clock:.0f} seconds of examination"
    counted = tally(session)
    yield "steps", f"{counted.done} of {counted.of} recorded at every entry"
    kinds = Counter(event.name if isinstance(event, Unknown) else event.kind for event in session.events)
    yield "events", f"{len(session.events)}: {', '.join(f'{n} {kind}' for kind, n in kinds.items())}"
    yield "own words", _own_words(session)
    yield "signed", _signed(loaded)
    yield "torn end", f"{loaded.torn_bytes} bytes, passed over" if loaded.torn_bytes else "none"
    names = [one_line(each.name) for each in beside(loaded.path)]
    yield "beside it", ", ".join(names) or "no torn ends"


def _kind(session: Session) -> Iterator[str]:
    header = session.header
    yield header.mode
    yield f"{header.setting}{' (simulated)' if header.is_simulated else ''}"
    if header.assessed:
        yield "assessed"
    if header.fictional:
        yield "an invented example"


def _codes(session: Session) -> Iterator[str]:
    header = session.header
    named = {"participant": header.participant, "examiner": header.examiner, "observer": header.observer}
    for name, code in named.items():
        if code:
            yield _code(name, code, identity_warning(code))
    events = session.events
    later = [("amended by", event.who) for event in events if isinstance(event, Amended)]
    later += [("signed by", event.who) for event in events if isinstance(event, Signed)]
    for name, code in dict.fromkeys(later):
        if code not in named.values():
            yield _code(name, code, name_warning(code))


def _code(name: str, code: str, warning: str | None) -> str:
    return f"{name} {one_line(code)}{f' ({warning})' if warning else ''}"


def _own_words(session: Session) -> str:
    """Count the texts that were typed, and name the events whose words look like a person's identity."""
    typed = list(typed_words(session))
    if not typed:
        return "none"
    doubts = [f"event {n} {warning}" for n, text in typed if (warning := text_warning(text))]
    return "; ".join([f"{len(typed)} text{'' if len(typed) == 1 else 's'}", *doubts])


def _signed(loaded: Loaded) -> str:
    found = seals(loaded.path.read_bytes()[: loaded.whole_bytes])
    said = (f"by {seal.who}, {'unchanged since' if seal.is_unchanged else 'CHANGED SINCE'}" for seal in found)
    return "; ".join(said) or "no"
