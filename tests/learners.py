"""Simulated learners who practise the order of a protocol by different plans, and a table of how that went.

    python tests/learners.py [--learners N]

This is simulation: it shows what the plans do to learners as the literature describes them, not to people.

The learner. A step is linked to the one before it, which is its cue. A link is made or not; once made it is
found with probability 2^(-d/h), d days after it was last found or read, h its half-life in days.

    reading, and the answer after a miss   make a link with probability e; a link that is there is fresh again
    finding it                             h grows by `tested`, by `tested_again` on the same day
    reading it                             h grows by `reread` on a later day, not on the same day
    person and step                        x = person + step, normal; logit e and 2 log2 h are shifted by x
    chunks                                 the first step of a section has 1 less of x; a step whose
                                           forerunner there is lost is found only with the share `cue_lost`;
                                           finding it out of order makes log h grow by `out_of_order` of that

Where the numbers come from. They were fixed before any plan was compared, and are varied in the table.
H. L. Roediger and J. D. Karpicke, Psychological Science 2006; abstract read, figures from memory: recalled
after 5 minutes, 2 days, 1 week when read twice 81, 54, 42 %, when read and tested 75, 68, 56 %; in the second
experiment after 5 minutes and 1 week when read four times 83, 40, read thrice and tested 78, 56, read once
and tested thrice 71, 61 %. So e = 0.56 (two readings give 81 %), h = 7 days after reading however often on
that day (42/81, 40/83), 2.2 times that after one test (56/75, 56/78), and 1.5 times more for each further
test of the day (61/71).
A. Latimier, H. Peyre and F. Ramus, Educational Psychology Review 2021 (abstract read): tests on later days
beside tests in a row g = 0.74, about as much as tests beside reading in the first. So each first test of a
day counts 2.2: three of them come to twice three in a row.
That sections break the order: N. F. Johnson, The role of chunking and organization in the process of recall,
1970, from memory; that the answer after a miss is worth a reading: N. Kornell, M. J. Hays and R. A. Bjork,
2009, from memory. 238 words read a minute: M. Brysbaert, Journal of Memory and Language 2019, from memory.
Our own choice, no source: reread 1.5, the spreads of persons and steps, 1 less of x, `cue_lost`,
`out_of_order`, and the seconds to find the cue.

The plans. All have read the protocol once, the evening before. Each day has the target minutes of the
protocol; a plan goes on where it stopped the day before.

    full run-throughs   all steps in order from memory, each answer shown: `TRY_SECONDS` a step
    rereading           all steps in order: the words that the screen shows, at 238 a minute
    random              steps by chance, each after its cue: `TRY_SECONDS` and `CUE_SECONDS` to find the cue
    ours                `practice.plan`, asked again while minutes are left: its steps once, those missed
                        once more after all others; as random, and `PLAN_SECONDS` to ask and read

Order recall is the share of all steps that would be found a day later, in a run-through in which no answer is
shown. It is computed as an expectation, not drawn; whether a try succeeds is drawn.
"""

import argparse
import sys
from collections.abc import Callable, Generator, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from math import exp, log
from pathlib import Path
from random import Random
from statistics import fmean, median, quantiles

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parent.parent))

from checklist.practice.plan import TRY_SECONDS, Plan, plan
from checklist.practice.recall import Estimate, estimates
from checklist.practice.run import MISSED_MARK, RECALLED_MARK, Run
from checklist.protocol import library
from checklist.protocol.model import Protocol, Step
from checklist.session.session import REHEARSAL

AIM = 0.95
CUE_SECONDS = 3.0
PLAN_SECONDS = 30.0
WORDS_A_MINUTE = 238.0
DAY_SECONDS = 86_400.0
LONGEST_DAYS = 28
"""Who has not reached the aim by then is counted with the minutes spent until then."""
FIXED_DAYS = 5
"""Days of practice before the week without."""
CHECK_SECONDS = 60.0
"""How often it is looked whether the aim is reached."""
BEGIN = datetime(2026, 1, 5, 18, tzinfo=UTC)
FULL, REREADING, RANDOM, OURS = "full run-throughs", "rereading", "random", "ours"


@dataclass(frozen=True, kw_only=True, slots=True)
class Setting:
    """The numbers of a learner model."""

    name: str = "as above"
    encoded: float = 0.56
    half_life: float = 7.0
    tested: float = 2.2
    tested_again: float = 1.5
    reread: float = 1.5
    spread_person: float = 0.8
    spread_step: float = 1.0
    boundary: float = 1.0
    cue_lost: float = 0.5
    out_of_order: float = 0.8
    try_seconds: float = TRY_SECONDS
    """Of full run-throughs alone."""


CHUNKED = Setting()
APART = Setting(name="steps apart, no chunks", boundary=0.0, cue_lost=1.0, out_of_order=1.0)
SETTINGS = (
    CHUNKED,
    APART,
    Setting(name="half-life 2 days, not 7", half_life=2.0),
    Setting(name="a link made half as often", encoded=0.28),
    Setting(name="a test worth no more than rereading", tested=1.5, tested_again=1.0),
    Setting(name="steps equally hard", spread_step=0.0),
    Setting(name="steps differ twice as much", spread_step=2.0),
    Setting(name="a lost step loses its section", cue_lost=0.0),
    Setting(name="out of order worth half", out_of_order=0.5),
    Setting(name="a step of a full run-through in 15 s", try_seconds=15.0),
)


def logistic(x: float) -> float:
    return 1 / (1 + exp(-x))


@dataclass(kw_only=True, slots=True)
class Link:
    """What leads from a step to the next one."""

    encoded: float
    half_life: float
    is_made: bool = False
    last: float = 0.0
    """Day, with its fraction, on which it was last found or read."""
    found_on: int = -1
    """The whole day on which it was last found."""

    def strength(self, day: float) -> float:
        """Return the probability to find it, its cue given."""
        return 2.0 ** (-max(0.0, day - self.last) / self.half_life) if self.is_made else 0.0


@dataclass(kw_only=True, slots=True)
class Learner:
    """One simulated person and the order of one protocol."""

    setting: Setting
    links: list[Link]
    opens_section: Sequence[bool]
    answers: Random
    latest: int = field(default=-1)
    """The step that was practised last."""

    def read(self, step: int, day: float) -> None:
        """Read a step, or be shown it after a miss."""
        link = self.links[step]
        if not link.is_made:
            link.is_made = self.answers.random() < link.encoded
        elif int(day) > int(link.last):
            link.half_life *= self.setting.reread
        link.last = day
        self.latest = step

    def attempt(self, step: int, day: float) -> bool:
        """Try to find a step from its cue; the answer is shown after it."""
        link = self.links[step]
        if self.answers.random() >= link.strength(day):
            self.read(step, day)
            return False
        growth = self.setting.tested if int(day) > link.found_on else self.setting.tested_again
        is_in_order = self.latest == step - 1
        link.half_life *= growth ** (1.0 if is_in_order else self.setting.out_of_order)
        link.last, link.found_on = day, int(day)
        self.latest = step
        return True

    def order_recall(self, day: float) -> float:
        """Return the share of steps that are expected to be found in a run-through without answers."""
        total = before = 0.0
        for link, is_first in zip(self.links, self.opens_section, strict=True):
            cue = 1.0 if is_first else before + (1 - before) * self.setting.cue_lost
            before = link.strength(day) * cue
            total += before
        return total / len(self.links)


def learner(protocol: Protocol, setting: Setting, seed: int, plan_name: str) -> Learner:
    """Return a person who has read the protocol once; with one seed it is the same person for every plan."""
    traits, answers = Random(seed), Random(f"{seed} {plan_name}")
    person = traits.gauss(0, 1) * setting.spread_person
    opens = [step is section.steps[0] for section in protocol.sections for step in section.steps]
    made = Learner(setting=setting, links=[], opens_section=opens, answers=answers)
    for is_first in opens:
        x = person + traits.gauss(0, 1) * setting.spread_step - is_first * setting.boundary
        odds = log(setting.encoded / (1 - setting.encoded)) + x
        made.links.append(Link(encoded=logistic(odds), half_life=setting.half_life * 2 ** (x / 2)))
    for place in range(len(opens)):
        made.read(place, 0.0)
    return made


# The plans. Each does the next thing, and yields the seconds that it took.


@dataclass(kw_only=True, slots=True)
class Desk:
    """Who practises what, and the time."""

    protocol: Protocol
    learner: Learner
    budget: float
    """Seconds a day."""
    day: int = 1
    spent: float = 0.0
    """Seconds of this day."""

    @property
    def now(self) -> float:
        return self.day + self.spent / DAY_SECONDS

    @property
    def left(self) -> float:
        return self.budget - self.spent


NO_MORE = -1.0
"""Yielded where a plan has nothing more to do that day."""


def full_run_throughs(desk: Desk) -> Iterator[float]:
    while True:
        for place in range(len(desk.learner.links)):
            desk.learner.attempt(place, desk.now)
            yield desk.learner.setting.try_seconds


def rereading(desk: Desk) -> Iterator[float]:
    seconds = [60 * words(step) / WORDS_A_MINUTE for step in desk.protocol]
    while True:
        for place, taken in enumerate(seconds):
            desk.learner.read(place, desk.now)
            yield taken


def words(step: Step) -> int:
    """Return how many words the screen has of a step."""
    return len(f"{step.title} {step.do} {step.say} {step.expect}".split())


def at_random(desk: Desk) -> Iterator[float]:
    while True:
        desk.learner.attempt(desk.learner.answers.randrange(len(desk.learner.links)), desk.now)
        yield TRY_SECONDS + CUE_SECONDS


def ours(desk: Desk) -> Iterator[float]:
    """Ask for a plan, take its steps, those that were missed once more, and ask again."""
    runs: list[Run] = []
    while True:
        known = known_now(runs, at(desk.now))
        found = plan(desk.protocol, known, (desk.left - PLAN_SECONDS) / 60)
        if not found.items:
            yield NO_MORE
            continue
        yield PLAN_SECONDS
        yield from _taken(desk, found, runs)


def _taken(desk: Desk, found: Plan, runs: list[Run]) -> Iterator[float]:
    missed = yield from _round(desk, [item.step.id for item in found.items], runs)
    yield from _round(desk, missed, runs)


def _round(desk: Desk, steps: Iterable[str], runs: list[Run]) -> Generator[float, None, list[str]]:
    """Take steps once, and return those that were missed, none when the day is over."""
    begun, marks = at(desk.now), dict[str, bool]()
    for step in steps:
        marks[step] = desk.learner.attempt(desk.protocol.position_of[step], desk.now)
        is_over = desk.left <= TRY_SECONDS + CUE_SECONDS
        if is_over:
            runs.append(_run(desk.protocol, begun, marks))
        yield TRY_SECONDS + CUE_SECONDS
        if is_over:
            return []
    if marks:
        runs.append(_run(desk.protocol, begun, marks))
    return [step for step, is_recalled in marks.items() if not is_recalled]


def at(day: float) -> datetime:
    return BEGIN + timedelta(days=int(day), seconds=round((day - int(day)) * DAY_SECONDS))


def _run(protocol: Protocol, begun: datetime, marks: Mapping[str, bool]) -> Run:
    """Return what a rehearsal of these steps leaves for the plan to look back on."""
    return Run(
        id=f"{begun:%Y%m%d%H%M%S}",
        created=begun,
        protocol=protocol.id,
        mode=REHEARSAL,
        task="order",
        examiner="S1",
        is_finished=True,
        is_fictional=False,
        seconds=0.0,
        coverage=None,
        reach=0.0,
        critical_missed=(),
        moved=None,
        steps=tuple(marks),
        marks="".join(RECALLED_MARK if is_recalled else MISSED_MARK for is_recalled in marks.values()),
        times=(0.0,) * len(marks),
    )


def known_now(runs: Sequence[Run], now: datetime) -> Mapping[str, Estimate]:
    """Return the estimates of all steps; steps with the same past share one computation."""
    pasts: dict[str, list[tuple[int, str]]] = {}
    for number, run in enumerate(runs):
        for step, mark in zip(run.steps, run.marks, strict=True):
            pasts.setdefault(step, []).append((number, mark))
    likes: dict[tuple[tuple[int, str], ...], list[str]] = {}
    for step, past in pasts.items():
        likes.setdefault(tuple(past), []).append(step)
    chosen = {steps[0] for steps in likes.values()}
    found = estimates((_only(run, chosen) for run in runs), now)
    return {step: replace(found[steps[0]], step=step) for steps in likes.values() for step in steps}


def _only(run: Run, chosen: set[str]) -> Run:
    kept = [place for place, step in enumerate(run.steps) if step in chosen]
    return replace(
        run,
        steps=tuple(run.steps[place] for place in kept),
        marks="".join(run.marks[place] for place in kept),
        times=tuple(run.times[place] for place in kept),
    )


PLANS: Mapping[str, Callable[[Desk], Iterator[float]]] = {
    FULL: full_run_throughs,
    REREADING: rereading,
    RANDOM: at_random,
    OURS: ours,
}


# How it went.


@dataclass(frozen=True, kw_only=True, slots=True)
class Course:
    """How practice went for one learner."""

    minutes: float
    """Until the aim was reached; where it was not, all minutes that were spent."""
    is_reached: bool
    kept: float
    """Order recall a week after the aim was reached, if practice stops there; else after the last day."""
    week_after: float
    """Order recall a week after five days of practice."""


def course(protocol: Protocol, setting: Setting, plan_name: str, seed: int) -> Course:
    """Practise day by day until the aim is reached, and five days at least."""
    who = learner(protocol, setting, seed, plan_name)
    desk = Desk(protocol=protocol, learner=who, budget=protocol.target_seconds)
    steps, total, reached, kept, week_after = PLANS[plan_name](desk), 0.0, -1.0, 0.0, 0.0
    for day in range(1, LONGEST_DAYS + 1):
        desk.day, desk.spent = day, 0.0
        for so_far in _of_a_day(desk, steps):
            if reached < 0 and who.order_recall(desk.now + 1) >= AIM:
                reached, kept = total + so_far, who.order_recall(desk.now + 7)
        total += desk.spent
        if day == FIXED_DAYS:
            week_after = who.order_recall(desk.now + 7)
        if day >= FIXED_DAYS and reached >= 0:
            break
    is_reached = reached >= 0
    return Course(
        minutes=(reached if is_reached else total) / 60,
        is_reached=is_reached,
        kept=kept if is_reached else who.order_recall(desk.now + 7),
        week_after=week_after,
    )


def _of_a_day(desk: Desk, steps: Iterator[float]) -> Iterator[float]:
    """Spend the minutes of a day; yield the seconds so far, about once a minute and at the end."""
    checked = 0.0
    while desk.left > 0:
        taken = next(steps)
        if taken == NO_MORE:
            break
        desk.spent += taken
        if desk.spent - checked >= CHECK_SECONDS:
            checked = desk.spent
            yield desk.spent
    yield desk.spent


def courses(protocol: Protocol, setting: Setting, plan_name: str, seeds: Iterable[int]) -> list[Course]:
    return [course(protocol, setting, plan_name, seed) for seed in seeds]


@dataclass(frozen=True, kw_only=True, slots=True)
class Interval:
    """A figure with the interval that holds it with 95 %, by drawing the learners anew."""

    value: float
    low: float
    high: float


def interval(figure: Callable[[Sequence[int]], float], count: int, draws: int = 1000) -> Interval:
    """Return a figure of learners 0 … count - 1 and its bootstrap interval, by percentiles."""
    chance = Random(count)
    found = sorted(figure(chance.choices(range(count), k=count)) for _ in range(draws))
    low, *_, high = quantiles(found, n=40)
    return Interval(value=figure(range(count)), low=low, high=high)


def mean(values: Sequence[float]) -> Interval:
    return interval(lambda drawn: fmean(values[each] for each in drawn), len(values))


def ratio(one: Sequence[Course], other: Sequence[Course]) -> Interval:
    """Return the mean minutes of one plan as a share of those of another, of the same learners."""

    def figure(drawn: Sequence[int]) -> float:
        return sum(one[each].minutes for each in drawn) / sum(other[each].minutes for each in drawn)

    return interval(figure, len(one))


# The table.


def compared(protocol: Protocol, setting: Setting, count: int) -> Iterator[str]:
    """Return the rows of all plans on one protocol."""
    found = {name: courses(protocol, setting, name, range(count)) for name in PLANS}
    for name, each in found.items():
        minutes, share = mean([one.minutes for one in each]), ratio(each, found[FULL])
        kept, later = mean([100 * one.kept for one in each]), mean([100 * one.week_after for one in each])
        cells = (
            protocol.id,
            name,
            f"{minutes.value:.0f} ({minutes.low:.0f}–{minutes.high:.0f})",
            f"{median(one.minutes for one in each):.0f}",
            f"{100 * fmean(one.is_reached for one in each):.0f} %",
            f"{share.value:.2f} ({share.low:.2f}–{share.high:.2f})",
            f"{kept.value:.0f} % ({kept.low:.0f}–{kept.high:.0f})",
            f"{later.value:.0f} % ({later.low:.0f}–{later.high:.0f})",
        )
        yield f"| {' | '.join(cells)} |"


def varied(protocol: Protocol, count: int) -> Iterator[str]:
    for setting in SETTINGS:
        full, own = (courses(protocol, setting, name, range(count)) for name in (FULL, OURS))
        share = ratio(own, full)
        cells = (
            setting.name,
            f"{fmean(one.minutes for one in full):.0f}",
            f"{fmean(one.minutes for one in own):.0f}",
            f"{share.value:.2f} ({share.low:.2f}–{share.high:.2f})",
            f"{100 * fmean(one.kept for one in full):.0f}, {100 * fmean(one.kept for one in own):.0f} %",
            f"{100 * fmean(one.week_after for one in full):.0f}, "
            f"{100 * fmean(one.week_after for one in own):.0f} %",
        )
        yield f"| {' | '.join(cells)} |"


def bundled(name: str) -> Protocol:
    """Return a protocol of which each step is always asked for, conditional ones too."""
    found = library.load(library.find(name))
    sections = (
        replace(each, steps=tuple(replace(step, only_if="") for step in each.steps))
        for each in found.sections
    )
    return replace(found, sections=tuple(sections))


def main() -> None:
    parser = argparse.ArgumentParser(description="Compare plans of practice on simulated learners.")
    parser.add_argument("--learners", type=int, default=25, help="how many, half as many for a variation")
    count = parser.parse_args().learners
    print(
        "| protocol | plan | minutes to 95 % | median | reached | of full run-throughs"
        " | a week after reaching it | a week after five days |"
    )
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    for name, learners in (("abdomen", count), ("head-and-neck", max(4, count // 3))):
        print(*compared(bundled(name), CHUNKED, learners), sep="\n", flush=True)
    print(
        "\n| abdomen, learners with | full | ours | ours of full"
        " | a week after reaching it: full, ours | a week after five days |"
    )
    print("| --- | --- | --- | --- | --- | --- |")
    for row in varied(bundled("abdomen"), max(4, count // 2)):
        print(row, flush=True)


if __name__ == "__main__":
    main()
