"""The outline of a protocol says everything that the protocol says, in plain text that fits the width."""

from pathlib import Path

import pytest

from checklist.protocol.model import Protocol
from checklist.protocol.outline import NARROWEST, outline
from checklist.protocol.reader import read

FILES = [
    *sorted((Path(__file__).parent / "protocols" / "valid").glob("*.toml")),
    *sorted((Path(__file__).parent.parent / "protocols").glob("*.toml")),
]


def protocol(path: Path) -> Protocol:
    found = read(path.read_text(encoding="utf-8"), path.name)[0]
    assert found is not None
    return found


EVERYTHING = protocol(Path(__file__).parent / "protocols" / "valid" / "everything.toml")


def texts(whole: Protocol) -> list[str]:
    """Return every text that a reader of the outline needs."""
    found = [whole.id, whole.version, whole.reviewed, whole.summary, whole.position, whole.scope]
    found += [*whole.cautions, *whole.adaptations, *whole.sources]
    found += [whole.audience.population, *whole.audience.ages, whole.audience.level, whole.audience.setting]
    found += [whole.telling.report, whole.telling.urgent, *whole.telling.roles]
    found += [item.name for item in whole.equipment]
    found += [group.why for section in whole.sections for group in section.free_order]
    for step in whole.steps:
        found += [
            step.title,
            step.technique,
            f"{step.seconds} s",
            step.only_if,
            step.do,
            step.say,
            step.expect,
        ]
        found += [step.chart, step.critical, step.caution, step.hands, *step.covers, *step.sites]
        found += [after.why for after in step.after]
        for finding in step.findings:
            found += [finding.label, finding.chart, whole.tell_to(finding)]
    found += [computed.title for computed in whole.computed]
    found += [pattern.source for pattern in whole.patterns]
    return [text for text in found if text]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_every_text_of_a_protocol_is_in_its_outline(path: Path) -> None:
    whole = protocol(path)

    shown = " ".join(outline(whole, 80).split())

    assert [text for text in texts(whole) if text not in shown] == []
    assert [section.title for section in whole.sections if section.title.upper() not in shown] == []


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
@pytest.mark.parametrize("width", [0, 40, 41, 59, 80, 200])
def test_no_line_is_wider_than_asked(path: Path, width: int) -> None:
    lines = outline(protocol(path), width).splitlines()

    assert max(map(len, lines)) <= max(width, NARROWEST)
    assert all(line.isprintable() and line == line.rstrip() for line in lines)


def lines_of(title: str) -> list[str]:
    """Return the lines of one step of the example, without their indent."""
    lines = outline(EVERYTHING, 100).splitlines()
    start = next(index for index, line in enumerate(lines) if title in line)
    end = next((index for index in range(start, len(lines)) if not lines[index]), len(lines))
    return [line.strip() for line in lines[start:end]]


def test_a_step_is_numbered_by_its_section_and_names_technique_and_seconds() -> None:
    assert lines_of("Look into the ear")[0] == "2.1  Look into the ear (inspect, 3600 s, weight 0)"


def test_each_entry_has_a_box_and_so_has_what_was_attempted_in_vain() -> None:
    boxes = " ".join(line for line in lines_of("Look into the ear") if line.startswith("[ ]")).split("[ ] ")

    assert [box.strip() for box in boxes][1:6] == [
        "right canal",
        "left canal",
        "right eardrum of C5",
        "left eardrum of C5",
        "attempted, not seen",
    ]


def test_an_act_of_the_examiner_has_one_box() -> None:
    assert lines_of("Clean your hands")[-1] == "[ ] done"


def test_a_critical_step_says_why() -> None:
    assert "CRITICAL:    Unclean hands carry infection." in lines_of("Clean your hands")


def test_an_order_names_the_earlier_step_by_number_and_title() -> None:
    expected = "After:       1.1 Clean your hands: clean hands before touching"
    assert expected in lines_of("Look into the ear")


def test_a_finding_says_how_fast_it_is_told_and_to_whom() -> None:
    shown = " ".join(lines_of("Look into the ear"))

    assert "[ ] Wax in the way (hidden by wax) [ ]" in shown
    assert "[ ] Blood behind it (blood behind {subject}) – URGENT, tell at once: the trauma team" in shown
    assert lines_of("Whisper a number")[-1] == (
        "[ ] Repeats another (not repeated) – REPORT before leaving: the nurse in charge"
    )


def test_steps_in_free_order_are_named_by_number() -> None:
    assert "   2.1, 2.2 in any order: neither changes the other" in outline(EVERYTHING, 100).splitlines()


def test_a_word_longer_than_a_line_is_broken_and_not_lost() -> None:
    text = (Path(__file__).parent / "protocols" / "valid" / "small.toml").read_text(encoding="utf-8")
    whole = read(text.replace("Rub your hands", "#" * 150), "small.toml")[0]
    assert whole is not None

    shown = outline(whole, 40)

    assert shown.count("#") == 150
    assert max(map(len, shown.splitlines())) <= 40
