"""The cases on this computer and what describes their findings. But for `past`, it alone opens files here."""

import contextlib
import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any

from checklist.errors import ChecklistError
from checklist.folders import bundled_protocols, data_folder, private_folder
from checklist.practice import descriptions
from checklist.practice.cases import FORMAT, Case, Due, FindProtocol, Truth, broken, read
from checklist.practice.descriptions import NONE, Descriptions
from checklist.practice.generated import generate
from checklist.protocol import library as protocols
from checklist.protocol.fields import is_id
from checklist.protocol.library import BUNDLED, OWN
from checklist.protocol.model import Protocol
from checklist.protocol.problems import Problem, ProtocolError
from checklist.session.session import Session
from checklist.text import one_line

LARGEST = 1_000_000
"""Bytes of a case file."""
SEED = "seed"
MOST_DIGITS = 18
"""Of a seed: a longer one was written by nobody, and takes forever to be read."""


class CaseError(ChecklistError):
    """A case that cannot be used, with everything that is wrong with it."""

    def __init__(self, problems: list[Problem]) -> None:
        self.problems = tuple(problems)
        more = f" ({len(problems)} problems, which 'checklist case check' lists)" if len(problems) > 1 else ""
        super().__init__(f"{problems[0]}{more}")


def own_cases() -> Path:
    return data_folder() / "cases"


def bundled_cases() -> Path:
    return bundled_protocols() / "cases"


@dataclass(frozen=True, kw_only=True, slots=True)
class CaseHeadline:
    """What a list of cases says of one of them."""

    id: str
    title: str = ""
    protocol: str = ""
    """Id of the protocol that it is for."""
    path: Path
    origin: str
    """`own` or `bundled`."""
    problem: str = ""
    """Why the case cannot be used; empty for one that can."""


def case_headlines() -> tuple[CaseHeadline, ...]:
    """Return what a list says of each case, own ones first; an own one takes the place of a bundled one."""
    known = cache(_protocol)  # Each protocol is read once for all of its cases.
    return tuple(_headline(path, origin, known) for path, origin in _paths().values())


def _paths() -> dict[str, tuple[Path, str]]:
    found: dict[str, tuple[Path, str]] = {}
    for origin, folder in ((OWN, own_cases()), (BUNDLED, bundled_cases())):
        for path in sorted(folder.glob("*.toml")):
            found.setdefault(path.stem, (path, origin))
    return found


def _headline(path: Path, origin: str, known: FindProtocol) -> CaseHeadline:
    text = _text(path)
    if isinstance(text, Problem):
        return CaseHeadline(id=path.stem, path=path, origin=origin, problem=text.what)
    case, problems = read(text, str(path), known)
    if case is None:
        return CaseHeadline(id=path.stem, path=path, origin=origin, problem=problems[0].what)
    return CaseHeadline(id=path.stem, title=case.title, protocol=case.protocol, path=path, origin=origin)


def find(name: str) -> Path:
    """Return the file of the case with the id `name`, or the path that `name` is."""
    if is_id(name):
        for folder in (own_cases(), bundled_cases()):
            if (path := folder / f"{name}.toml").is_file():
                return path
    return Path(name)


def check(path: Path) -> list[Problem]:
    """Return all problems of a file of a case or of descriptions; that it cannot be read is one too."""
    text = _text(path)
    if isinstance(text, Problem):
        return [text]
    if descriptions.is_descriptions(text, str(path)):
        return [*descriptions.read(text, str(path), _protocol)[1], *_not_called_so(path, text)]
    return read(text, str(path), _protocol)[1]


def _not_called_so(path: Path, text: str) -> Iterator[Problem]:
    """Note descriptions in one of the folders under another name than their protocol's: nobody finds them."""
    found = descriptions.read_for(text, str(path))
    is_kept = path.absolute().parent in (own_descriptions(), bundled_descriptions())
    if found and is_kept and found.protocol != path.stem:
        what = f"it is for the protocol '{found.protocol}', and the file is not called so"
        yield Problem(file=one_line(str(path)), what=what, hint=f"call it {found.protocol}.toml")


def load(path: Path) -> Case:
    """Return the case of a file, or raise CaseError with all problems of it."""
    text = _text(path)
    if isinstance(text, Problem):
        raise CaseError([text])
    case, problems = read(text, str(path), _protocol)
    if case is None:
        raise CaseError(problems)
    return case


def _protocol(name: str) -> Protocol | None:
    try:
        return protocols.load(protocols.find(name))
    except ProtocolError:
        return None


def _text(path: Path) -> str | Problem:
    name = one_line(str(path))
    try:
        if not path.is_file():
            return Problem(file=name, what="a folder, not a file" if path.is_dir() else "no such file")
        if path.stat().st_size > LARGEST:
            return Problem(file=name, what="the file is too large for a case")
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        return Problem(file=name, what="not UTF-8", hint="save the file as UTF-8")
    except OSError as error:
        return Problem(file=name, what=f"the file cannot be read: {error.strerror}")
    return text if text.strip() else Problem(file=name, what="the file is empty")


# What describes the findings.


def own_descriptions() -> Path:
    return data_folder() / "descriptions"


def bundled_descriptions() -> Path:
    return bundled_protocols() / "descriptions"


def descriptions_of(protocol: Protocol) -> tuple[Descriptions, str]:
    """Return what describes the findings of a protocol, and why an own file of them is not used, if so.

    Without any, labels are shown; a file that is broken keeps nobody from examining.
    """
    problem = ""
    for folder in (own_descriptions(), bundled_descriptions()):
        path = folder / f"{protocol.id}.toml"
        if not path.is_file():
            continue
        text = _text(path)
        if not isinstance(text, Problem) and (found := descriptions.read_for(text, str(path))):
            return found, problem
        problem = f"{path.name} in {folder} cannot be used; 'checklist case check' says why"
    return NONE, problem


# What a session says of its case.


def named_seed(seed: int) -> str:
    """Return how a session names a case that was made: `seed 42`."""
    return f"{SEED} {seed}"


def made(protocol: Protocol, seed: int, about: str = "") -> Case:
    """Return the case of a seed, in which all goes together that the descriptions of the protocol say so of.

    Raises NoCaseError when none can be made.
    """
    described, _ = descriptions_of(protocol)
    return generate(protocol, seed, about, described.fits)


def stamped(named: str, case: Case) -> str:
    """Return how a session names its case, with a digest: `seed 42 #1f0c3b2a`."""
    return f"{named} {_digest(case)}"


def _digest(case: Case) -> str:
    return f"#{sha256(to_toml(case).encode()).hexdigest()[:8]}"


def case_of(session: Session) -> Case:
    """Return the case of a rehearsal: made again from its seed, or read from its file.

    Raises ChecklistError when it is not there, is not for this protocol, or is not the one that was shown.
    """
    named, _, digest = session.header.case.partition(" #")
    case = _named_case(session, named)
    if digest and f"#{digest}" != _digest(case):
        why = "another version of the program made it" if named.startswith(SEED) else "its file was changed"
        raise ChecklistError(f"the simulated patient '{one_line(named)}' is no longer the one shown: {why}")
    return case


def _named_case(session: Session, name: str) -> Case:
    words = name.split()
    if len(words) == 2 and words[0] == SEED and words[1].isdecimal() and len(words[1]) <= MOST_DIGITS:
        return made(session.protocol, int(words[1]))
    if not is_id(name):
        raise ChecklistError("this session names no case of a simulated patient")
    path = find(name)
    if path == Path(name):
        where = own_cases()
        raise ChecklistError(f"the case '{name}' is not on this computer; put its file into {where}")
    case = load(path)
    check_steps(case, session.protocol)
    return case


def check_steps(case: Case, protocol: Protocol) -> None:
    """Raise when a case is not for this protocol, or speaks of what this version of it does not have."""
    if case.protocol != protocol.id:
        raise ChecklistError(f"the case '{case.id}' is for the protocol '{case.protocol}'")
    if flaws := broken(case, protocol):
        what = f"the case '{case.id}' is for another version of '{protocol.id}'"
        raise ChecklistError(f"{what}: {flaws[0].what}")


def kept(path: Path) -> str:
    """Return the id under which a case is found again, with a copy of its file among the own cases if needed.

    Raises ChecklistError when another case has the id.
    """
    case = load(path)
    stands = find(case.id)
    if stands != Path(case.id) and (stands.samefile(path) or stands.read_bytes() == path.read_bytes()):
        return case.id
    if stands != Path(case.id):
        raise ChecklistError(f"another case has the id '{case.id}' already: {stands}")
    target = private_folder(own_cases()) / f"{case.id}.toml"
    fd = os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        with os.fdopen(fd, "wb") as file:
            file.write(path.read_bytes())
    except OSError:
        with contextlib.suppress(OSError):
            target.unlink()
        raise
    return case.id


# A case as a file.


def to_toml(case: Case) -> str:
    """Return a case as its file holds it."""
    import tomli_w

    table: dict[str, Any] = {"format": FORMAT, "id": case.id, "title": case.title, "protocol": case.protocol}
    table |= _given({"age": case.age, "story": case.story, "explains": case.explains})
    table |= _given({"sources": list(case.sources)})
    table |= _given({"truth": [_truth(each) for each in case.truths]})
    table |= _given({"decoy": [_truth(each) for each in case.decoys]})
    table |= _given({"report": [_due(each) for each in case.report]})
    parts = {key: table.pop(key) for key in ("truth", "decoy", "report") if key in table}
    blocks = [tomli_w.dumps(table)]
    for key, values in parts.items():
        blocks += [f"[[{key}]]\n{tomli_w.dumps(value)}" for value in values]
    return "# Invented: no real person.\n" + "\n".join(blocks)


def _truth(truth: Truth) -> dict[str, Any]:
    findings = list(truth.findings)
    return {"step": truth.step} | _given(
        {
            "side": truth.side,
            "site": truth.site,
            "finding": findings[0] if len(findings) == 1 else findings,
            "reading": truth.reading,
            "seen": truth.seen,
            "unseen": truth.unseen,
        }
    )


def _due(due: Due) -> dict[str, Any]:
    return {"what": due.what, "tell": due.tell, "steps": list(due.steps)} | _given({"side": due.side})


def _given(values: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in values.items() if value}
