"""A made case holds together: what goes with a truth is so as well, and no other picture comes of it."""

import tomllib
from collections import Counter
from functools import cache
from pathlib import Path

import pytest

from checklist.practice import library
from checklist.practice.cases import Case, There, what_is_there
from checklist.practice.fits import ALL, Fits, Then
from checklist.practice.generated import generate, pictures
from checklist.protocol.library import load
from checklist.protocol.model import OTHER_SIDE, SIDE, SIDES, Entry, Protocol, Step
from checklist.protocol.reader import read_table
from checklist.session import readings
from tests.desk import HEAD_AND_NECK

PROTOCOL = """
format = 1
id = "invented"
title = "Invented knee"
version = "1.0.0"
reviewed = 2025-01-31
target_minutes = 5
scope = "An invented example for tests."
sources = ["invented"]
[for]
population = "adults"
[tell]
report = "the nurse in charge"
urgent = "the physician on call"

[[section]]
id = "knee"
title = "Knee"
"""
STEPS: dict[str, dict[str, str]] = {
    "ask-fall": {"sudden": "report", "long-ago": "note"},
    "look": {"swollen": "report", "scar": "note"},
    "feel": {"warm": "report", "hot": "urgent", "smooth-lump": "note"},
    "press": {"sore": "report"},
    "walk": {"limps": "report", "stick": "note"},
}
"""Id → its findings, each with how fast it is told."""
BOTH_SIDES = ("look", "feel", "press")
PATTERNS = """
[[pattern]]
id = "fresh"
all = [
  { step = "ask-fall", is = "sudden" },
  { step = "look", side = "{side}", is = "swollen" },
  { step = "feel", side = "{side}", is = ["warm", "hot"] },
]
consider = "Fresh on the {side}."
tell = "report"
source = "invented"

[[pattern]]
id = "lame"
all = [{ step = "walk", is = "limps" }, { step = "ask-fall", is = "sudden" }]
consider = "Lame."
tell = "report"
source = "invented"
"""


def text_of(step: str) -> str:
    lines = [
        "[[section.step]]",
        f'id = "{step}"',
        f'title = "Do {step}"',
        f'technique = "{"ask" if step == "ask-fall" else "palpate"}"',
        f'do = "Do {step}."',
        'expect = "Nothing"',
        'subject = "knee"',
        'chart = "calm"',
    ]
    lines += ['sides = "both"', 'subjects = "knees"'] if step in BOTH_SIDES else []
    for finding, tell in STEPS[step].items():
        lines += ["[[section.step.finding]]", f'id = "{finding}"', f'label = "It is {finding}"']
        lines += [f'chart = "{finding}"', *([f'tell = "{tell}"'] if tell != "note" else [])]
    return "\n".join(lines)


@cache
def knee() -> Protocol:
    found, flaws = read_table(tomllib.loads("\n".join((PROTOCOL, *map(text_of, STEPS), PATTERNS))))
    assert found is not None, [str(flaw) for flaw in flaws]
    return found


def fits(step: str, finding: str, *then: Then) -> Fits:
    return Fits(step=step, findings=(finding,), why="so it is", then=then)


def made(*rules: Fits, seed: int = 1) -> Case:
    return generate(knee(), seed, "fresh:left", rules)


def at(case: Case, step: str, entry: str = "whole") -> There | None:
    return what_is_there(case, knee()).get((step, entry))


def findings(case: Case, step: str, entry: str = "whole") -> tuple[str, ...]:
    found = at(case, step, entry)
    return found.findings if found else ()


SEEDS = pytest.mark.parametrize("seed", range(12))


class TestThePicture:
    """A fall a moment ago, and the left knee swollen and warm or hot."""

    @SEEDS
    def test_what_goes_with_it_is_so_as_well(self, seed: int) -> None:
        case = made(fits("look", "swollen", Then(step="press", finding="sore")), seed=seed)

        assert findings(case, "press", "left") == ("sore",)
        assert findings(case, "press", "right") == ()

    @SEEDS
    def test_a_companion_takes_the_place_of_a_plain_finding(self, seed: int) -> None:
        """Which of warm and hot is chosen is chance; a fall a moment ago makes it hot."""
        case = made(fits("ask-fall", "sudden", Then(step="feel", finding="hot")), seed=seed)

        assert findings(case, "feel", "left") == ("hot",)
        assert findings(case, "feel", "right") == (), "it is about the left"

    def test_without_it_either_of_the_two_is_chosen(self) -> None:
        assert {findings(made(seed=seed), "feel", "left") for seed in range(12)} == {("warm",), ("hot",)}

    @SEEDS
    def test_what_follows_from_a_companion_follows_too(self, seed: int) -> None:
        case = made(
            fits("look", "swollen", Then(step="press", finding="sore")),
            fits("press", "sore", Then(step="walk", finding="stick")),
            seed=seed,
        )

        assert findings(case, "walk") == ("stick",)

    @SEEDS
    def test_a_finding_of_the_same_entry_stands_beside_it(self, seed: int) -> None:
        case = made(fits("look", "swollen", Then(step="look", finding="scar")), seed=seed)

        assert findings(case, "look", "left") == ("swollen", "scar")

    @SEEDS
    def test_what_would_complete_another_picture_is_left_out(self, seed: int) -> None:
        case = made(
            fits("look", "swollen", Then(step="walk", finding="limps"), Then(step="press", finding="sore")),
            seed=seed,
        )

        assert "limps" not in findings(case, "walk"), "with the fall it would be lame"
        assert findings(case, "press", "left") == ("sore",), "the rest goes with it all the same"

    @SEEDS
    def test_what_would_take_the_picture_away_stands_beside_it(self, seed: int) -> None:
        case = made(fits("look", "swollen", Then(step="ask-fall", finding="long-ago")), seed=seed)

        assert findings(case, "ask-fall") == ("sudden", "long-ago")

    @SEEDS
    def test_other_words_for_what_is_as_expected_change_nothing_else(self, seed: int) -> None:
        words = "“I hold on to the table.”"
        case = made(fits("look", "swollen", Then(step="press", seen=words)), seed=seed)
        left = at(case, "press", "left")

        assert left is not None and left.is_as_expected
        assert left.seen == words
        assert at(case, "press", "right") is None

    @SEEDS
    def test_words_come_with_a_finding(self, seed: int) -> None:
        case = made(fits("look", "swollen", Then(step="press", finding="sore", seen="“Ow.”")), seed=seed)
        left = at(case, "press", "left")

        assert left is not None
        assert (left.findings, left.seen, left.unsaid) == (("sore",), "“Ow.”", ())

    def test_two_that_cannot_both_be_end(self) -> None:
        """Each takes the words of the other; the first that was placed stands."""
        case = made(
            fits("look", "swollen", Then(step="press", seen="One.")),
            fits("ask-fall", "sudden", Then(step="press", seen="Other.")),
        )
        left = at(case, "press", "left")

        assert left is not None
        assert left.seen in {"One.", "Other."}

    def test_a_circle_ends(self) -> None:
        case = made(
            fits("look", "swollen", Then(step="press", finding="sore")),
            fits("press", "sore", Then(step="look", finding="swollen")),
        )

        assert findings(case, "look", "left") == ("swollen",)

    @SEEDS
    def test_the_same_seed_makes_it_again(self, seed: int) -> None:
        rule = fits("look", "swollen", Then(step="press", finding="sore"))

        assert made(rule, seed=seed) == made(rule, seed=seed)


class TestVariants:
    """What is only noted and stands beside the picture."""

    def cases(self, *rules: Fits) -> list[Case]:
        return [made(*rules, seed=seed) for seed in range(60)]

    def with_stick(self, *rules: Fits) -> list[Case]:
        return [case for case in self.cases(*rules) if "stick" in findings(case, "walk")]

    def test_one_has_its_companions(self) -> None:
        words = "“I came on my stick.”"
        cases = self.with_stick(fits("walk", "stick", Then(step="press", seen=words, side="both")))

        assert cases
        for case in cases:
            found = at(case, "press", "right")
            assert found is not None and found.seen == words

    def test_one_without_rules_is_made_now_and_then(self) -> None:
        assert self.with_stick()

    @pytest.mark.parametrize(
        "clash",
        [
            # Something else stands there.
            Then(step="ask-fall", finding="long-ago"),
            # It would have to be told, and a variant is only noted.
            Then(step="press", finding="sore"),
            # It would complete another picture.
            Then(step="walk", finding="limps"),
        ],
    )
    def test_one_that_clashes_is_not_made(self, clash: Then) -> None:
        assert self.with_stick(fits("walk", "stick", clash)) == []


# What is bundled.

BUNDLED = sorted(HEAD_AND_NECK.parent.glob("*.toml"))
MOST_EXCEPTIONS = 0
"""Companions that are left out, as they would complete another picture: none in the bundled files."""
_SEEDS = 3


ThereBy = dict[tuple[str, str], There]


def _shown(step: Step, there: There) -> set[str]:
    """Return findings and classes of the reading, as a table may name either."""
    classes: set[str] = set()
    if there.reading and step.reading:
        classes |= set(readings.understood(step.reading, there.reading).classes)
    return classes | set(there.findings)


def _fill(text: str, side: str) -> str:
    other = {"right": "left", "left": "right"}.get(side, "")
    return text.replace(SIDE, side).replace(OTHER_SIDE, other)


def _triggers(step: Step, rule: Fits, there: ThereBy, about: str) -> list[tuple[Entry, str]]:
    """Return where a table's finding is in a case, each with the side that is meant from there."""
    found = []
    for entry in step.entries:
        if (here := there.get((step.id, entry.key))) and not here.is_unseen:
            for finding in {_fill(each, side) for each in rule.findings for side in SIDES}:
                if finding in _shown(step, here):
                    said = [word for word in finding.split("-") if word in SIDES]
                    found.append((entry, entry.side or (said[0] if said else about)))
    return found


def _is_so(then: Then, side: str, here: There | None, step: Step) -> bool:
    if here and here.is_unseen:
        return True
    if not (then.finding or then.reading) and here and here.findings:
        return True  # Words for what is as expected, where something differs.
    reading = here.reading if here else ""
    if then.reading and (
        not reading
        or step.reading is None
        or readings.understood(step.reading, then.reading) != readings.understood(step.reading, reading)
    ):
        return False
    return (
        here is not None
        and (not then.finding or _fill(then.finding, side) in here.findings)
        and _fill(then.seen, side) in here.seen
    )


def broken(protocol: Protocol, rules: tuple[Fits, ...], case: Case, about: str) -> list[str]:
    """Return what goes with something in a case and is not so, found without the code that makes it so."""
    there, wrong = what_is_there(case, protocol), []
    for rule in rules:
        for entry, side in _triggers(protocol.step_of[rule.step], rule, there, about):
            for then in rule.then:
                step = protocol.step_of[then.step]
                if not side and (SIDE in then.finding + then.seen or OTHER_SIDE in then.finding + then.seen):
                    continue
                other = _fill(OTHER_SIDE, side)
                wanted = {"same": side, "other": other, "both": ""}.get(then.side, then.side)
                site = then.site or (entry.site if entry.site in step.sites else "")
                for each in step.entries:
                    if wanted in ("", each.side or wanted) and (site in ("", ALL) or each.site == site):
                        here = there.get((step.id, each.key))
                        if not _is_so(then, side, here, step):
                            wrong.append(f"{rule.step} {rule.findings}: {then.step} {each.key}")
    return wrong


@pytest.mark.parametrize("path", BUNDLED, ids=lambda path: path.stem)
class TestBundled:
    def test_in_every_case_of_every_picture_all_goes_together(self, path: Path) -> None:
        protocol = load(path)
        described, _ = library.descriptions_of(protocol)
        exceptions: Counter[str] = Counter()
        for picture in pictures(protocol):
            for seed in range(_SEEDS):
                case = generate(protocol, seed, picture.name, described.fits)
                exceptions.update(broken(protocol, described.fits, case, picture.side))

        assert described.fits
        assert exceptions.total() <= MOST_EXCEPTIONS, exceptions.most_common(5)

    def test_without_the_tables_much_would_not(self, path: Path) -> None:
        """The check of the test above finds what does not go together."""
        protocol = load(path)
        described, _ = library.descriptions_of(protocol)
        cases = [
            (generate(protocol, seed, picture.name), picture.side)
            for picture in pictures(protocol)
            for seed in range(1)
        ]

        assert any(broken(protocol, described.fits, case, side) for case, side in cases)


def test_a_session_is_judged_by_the_case_that_was_shown() -> None:
    protocol = load(HEAD_AND_NECK)
    described, _ = library.descriptions_of(protocol)

    assert library.made(protocol, 7) == generate(protocol, 7, "", described.fits)
