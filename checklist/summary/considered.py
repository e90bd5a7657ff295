"""What is computed over several records, and which of them belong together, in words.

Says what to consider and report, with the recorded facts it rests on and its source; never a diagnosis.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from checklist.measures.reading import Meaning, Sided
from checklist.reasoning.alerts import pattern_id, titled
from checklist.reasoning.facts import Known, known
from checklist.reasoning.nerves import TAG, cranial_nerves
from checklist.reasoning.patterns import Match, matches
from checklist.session.events import TELLS
from checklist.session.session import COMPARED, COMPUTED, Session
from checklist.summary.document import Sentence
from checklist.summary.grouping import groups, numbers
from checklist.summary.measured import out_of_range
from checklist.summary.nerves import roll_up_words
from checklist.summary.prose import clause_text, clauses
from checklist.summary.words import capitalised, in_row, sentence, uncapitalised


@dataclass(frozen=True, kw_only=True, slots=True)
class Considered:
    """A pattern that is complete."""

    id: str
    """Under which it is told; see `reasoning.alerts`."""
    words: str
    """What to consider and report."""
    tell: str
    rests_on: str
    """The recorded facts, as charted."""
    source: str
    events: tuple[int, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Item:
    """Something computed."""

    name: str
    """Id of the computation, or of the step whose entries are compared."""
    title: str
    meaning: Meaning
    events: tuple[int, ...]
    is_wanted: bool
    """Whether the note says it always, or only where something is out of range."""

    @property
    def matters(self) -> bool:
        """Whether the note says it."""
        return self.is_wanted or bool(self.meaning.tell)

    @property
    def words(self) -> str:
        """In full, with its inputs."""
        return titled(self.title, self.meaning.words)

    @property
    def brief(self) -> str:
        """What is out of range, for a line of the screen, then all of it."""
        out = "; ".join(remark.text for remark in self.meaning.remarks if remark.tell)
        return f"{self.title}: {out}. {self.meaning.chart}"

    @property
    def chart(self) -> str:
        """As the note says it, with the reference where something is out of range."""
        reference = out_of_range(self.meaning)
        return f"{titled(self.title, self.meaning.chart)}{f' ({reference})' if reference else ''}"


def considered(session: Session) -> tuple[Considered, ...]:
    """Return the patterns that are complete, the most urgent first."""
    if not session.protocol.patterns:
        return ()
    found = known(session)
    return tuple(_considered(session, found, match) for match in matches(session.protocol, found))


def _considered(session: Session, found: Mapping[str, Known], match: Match) -> Considered:
    facts = in_row(_fact(session, found, name, entries) for name, entries in match.rests_on)
    return Considered(
        id=pattern_id(match),
        words=match.words,
        tell=match.pattern.tell,
        rests_on=facts,
        source=match.pattern.source,
        events=numbers(event for name, _ in match.rests_on for event in _events(session, name)),
    )


def _fact(session: Session, found: Mapping[str, Known], name: str, entries: Sequence[Sided]) -> str:
    step = session.protocol.step_of.get(name)
    if step is None:
        meaning = found[name].together
        return meaning.chart if meaning else ""
    records = {
        entry.key: session.state.records[name][entry.key]
        for entry in step.entries
        if (entry.side, entry.site) in entries
    }
    return in_row(clause_text(clause) for group in groups(step, records) for clause in clauses(group))


def _events(session: Session, name: str) -> Iterator[int]:
    """Return the numbers of the events on which a step, or a computation, rests."""
    for step in session.protocol.inputs_of.get(name, (name,)):
        yield from (record.event for record in session.state.records.get(step, {}).values())


def computed(session: Session) -> tuple[Item, ...]:
    """Return what is computed: the comparisons within a step, then what the protocol asks for."""
    protocol = session.protocol
    if not protocol.computed and not any(step.reading for step in protocol):
        return ()
    found = known(session)
    compared = ((step.id, step.title, False) for step in protocol)
    asked = ((each.id, each.title, each.wanted == "always") for each in protocol.computed)
    return tuple(
        _item(session, name, title, meaning, is_wanted)
        for name, title, is_wanted in (*compared, *asked)
        if name in found and (meaning := found[name].together)
    )


def _item(session: Session, name: str, title: str, meaning: Meaning, is_wanted: bool) -> Item:
    return Item(
        name=name,
        title=title,
        meaning=meaning,
        events=numbers(_events(session, name)),
        is_wanted=is_wanted,
    )


def derived_parts(session: Session) -> dict[str, tuple[str, ...]]:
    """Return what is told of all that follows from the record, by the ids of `reasoning.alerts`."""
    inputs_of = session.protocol.inputs_of
    parts: dict[str, tuple[str, ...]] = {
        f"{COMPUTED if item.name in inputs_of else COMPARED}{item.name}": (item.chart,)
        for item in computed(session)
    }
    for each in considered(session):
        words = f"consider: {uncapitalised(each.words)}"
        parts[each.id] = (words, f"recorded: {each.rests_on}", f"source: {each.source}")
    return parts


URGENCY = {"urgent": "URGENT, consider and tell at once", "report": "consider and report"}


def considered_items(found: Iterable[Considered]) -> Iterator[Sentence]:
    """Return a sentence or two for each complete pattern, for the note's part on what to report."""
    for each in found:
        parts = (
            f"{URGENCY.get(each.tell, 'consider')}: {capitalised(each.words)}",
            f"recorded: {each.rests_on}",
            f"source: {each.source}",
        )
        yield Sentence(text=" ".join(sentence(part) for part in parts), rests_on=each.events)


def put_together(session: Session) -> Iterator[Sentence]:
    """Return the roll-up of the cranial nerves, then what is computed and belongs in the note."""
    protocol, found = session.protocol, known(session)
    nerves = cranial_nerves(protocol, found)
    if any(nerve.is_examined for nerve in nerves):
        covering = {step.id for step in protocol if any(tag.startswith(TAG) for tag in step.covers)}
        events = numbers(event for name in covering & found.keys() for event in _events(session, name))
        for words in roll_up_words(nerves):
            yield Sentence(text=sentence(f"cranial nerves: {words}"), rests_on=events)
    for item in computed(session):
        # What is told stands with its reference in the part on what to report.
        if item.matters and item.meaning.tell not in TELLS:
            yield Sentence(text=sentence(item.chart), rests_on=item.events)
