"""Protocols are found, listed and loaded; what cannot be read is one clear line."""

import os
from pathlib import Path

import pytest

from checklist.folders import bundled_protocols
from checklist.protocol import library
from checklist.protocol.library import Headline, check, find, headlines, load, load_table
from checklist.protocol.problems import ProtocolError

PROTOCOLS = Path(__file__).parent / "protocols"
SMALL = (PROTOCOLS / "valid" / "small.toml").read_text(encoding="utf-8")
BUNDLED = bundled_protocols()


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of the own protocols is empty for every test."""
    monkeypatch.setenv("EXAM_CHECKLIST_HOME", str(tmp_path))
    folder = tmp_path / "protocols"
    folder.mkdir()
    return folder


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """A file outside of the folders of protocols."""
    return tmp_path / "small.toml"


def complaint(path: Path) -> str:
    [problem] = check(path)
    with pytest.raises(ProtocolError) as caught:
        load(path)
    assert str(caught.value) == str(problem)
    return str(problem)


def headline(name: str) -> Headline:
    return next(each for each in headlines() if each.id == name)


class TestUnreadableFiles:
    def test_a_missing_file(self, file: Path) -> None:
        assert complaint(file) == f"{file}: no such file"

    def test_a_folder(self, tmp_path: Path) -> None:
        assert complaint(tmp_path) == f"{tmp_path}: a folder, not a file"

    def test_a_pipe_is_refused_without_waiting_for_it(self, file: Path) -> None:
        os.mkfifo(file)

        assert complaint(file) == f"{file}: a pipe or a device, not a file"

    def test_a_device(self) -> None:
        assert complaint(Path("/dev/zero")) == "/dev/zero: a pipe or a device, not a file"

    @pytest.mark.parametrize("content", ["", "\n \t\n"])
    def test_an_empty_file(self, file: Path, content: str) -> None:
        file.write_text(content, encoding="utf-8")

        assert complaint(file) == f"{file}: the file is empty"

    def test_a_file_of_fifty_megabytes_is_refused_before_it_is_read(self, file: Path) -> None:
        with file.open("wb") as handle:
            handle.truncate(50_000_000)

        assert complaint(file) == f"{file}: the file is too large: 50.0 MB (at most 2 MB)"

    def test_a_file_of_just_two_megabytes_is_read(self, file: Path) -> None:
        file.write_text(SMALL + "#" * (2_000_000 - len(SMALL.encode())), encoding="utf-8")

        assert check(file) == []

    def test_a_file_of_one_byte_more_is_refused(self, file: Path) -> None:
        file.write_text(SMALL + "#" * (2_000_001 - len(SMALL.encode())), encoding="utf-8")

        assert complaint(file) == f"{file}: the file is too large: 2.0 MB (at most 2 MB)"

    def test_a_file_that_is_not_utf_8_is_located_by_line_and_byte(self, file: Path) -> None:
        file.write_bytes('format = 1\ntitle = "é"\n'.encode("latin-1"))

        expected = f"{file}:2: byte 21 of the file, 0xE9, is not UTF-8 (save the file as UTF-8)"
        assert complaint(file) == expected

    def test_a_name_that_stands_below_a_file(self, file: Path) -> None:
        file.write_text(SMALL, encoding="utf-8")

        assert complaint(file / "x.toml") == f"{file}/x.toml: the file cannot be read: Not a directory"

    def test_a_link_to_itself(self, file: Path) -> None:
        file.symlink_to(file)

        assert complaint(file).startswith(f"{file}: the file cannot be read: ")

    def test_a_byte_order_mark_in_front_is_passed_over(self, file: Path) -> None:
        file.write_text("\ufeff" + SMALL, encoding="utf-8")

        assert load(file).id == "small"


class TestLoad:
    def test_a_loaded_file_comes_with_its_table(self, file: Path) -> None:
        file.write_text(SMALL, encoding="utf-8")

        loaded = load_table(file)

        assert loaded.protocol == load(file)
        assert loaded.path == file
        assert loaded.table["section"][0]["step"][0]["technique"] == "hygiene"

    def test_a_file_with_problems_is_not_loaded(self, file: Path) -> None:
        file.write_text(SMALL.replace("1.0.0", "").replace("hygiene", "hygene"), encoding="utf-8")

        with pytest.raises(ProtocolError) as caught:
            load(file)
        assert [problem.line for problem in caught.value.problems] == [4, 25]
        assert list(caught.value.problems) == check(file)

    def test_a_file_among_the_own_protocols_is_called_after_its_id(self, own: Path) -> None:
        path = own / "large.toml"
        path.write_text(SMALL, encoding="utf-8")

        assert complaint(path) == (
            f"{path}:2:1: 'id' is the text 'small', but the file is called 'large.toml'"
            " (the file of a protocol is called after its id)"
        )

    def test_a_file_elsewhere_is_called_as_one_likes(self, tmp_path: Path) -> None:
        path = tmp_path / "draft 2.toml"
        path.write_text(SMALL, encoding="utf-8")

        assert check(path) == []


class TestFind:
    @pytest.mark.parametrize("path", sorted(BUNDLED.glob("*.toml")), ids=lambda path: path.stem)
    def test_a_bundled_protocol_is_found_by_its_id(self, path: Path) -> None:
        assert find(path.stem) == path

    def test_an_own_protocol_is_found_by_its_id(self, own: Path) -> None:
        (own / "small.toml").write_text(SMALL, encoding="utf-8")

        assert find("small") == own / "small.toml"

    def test_an_own_protocol_takes_the_place_of_the_bundled_one(self, own: Path) -> None:
        (own / "abdomen.toml").write_text(SMALL, encoding="utf-8")

        assert find("abdomen") == own / "abdomen.toml"
        assert [each.origin for each in headlines() if each.id == "abdomen"] == ["own"]

    def test_a_path_is_found_as_it_is(self, file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        file.write_text(SMALL, encoding="utf-8")
        monkeypatch.chdir(file.parent)

        assert find(str(file)) == file
        assert find("small.toml") == Path("small.toml")

    def test_an_id_that_is_almost_right_is_answered_with_the_right_one(self) -> None:
        with pytest.raises(
            ProtocolError, match=r"^abdomne: no protocol has this id \(did you mean 'abdomen'\?\)$"
        ):
            find("abdomne")

    def test_an_id_that_is_far_off_is_answered_with_those_that_there_are(self, own: Path) -> None:
        (own / "small.toml").write_text(SMALL, encoding="utf-8")

        with pytest.raises(ProtocolError, match=r"^x: no protocol has this id \(known: 'small', "):
            find("x")

    def test_an_id_never_leads_out_of_the_folders(self, file: Path) -> None:
        file.write_text(SMALL, encoding="utf-8")

        assert find("../small") == Path("../small")
        with pytest.raises(ProtocolError, match="no such file"):
            load(find("../small"))


class TestHeadlines:
    def test_a_headline_says_what_the_file_says(self, own: Path) -> None:
        path = own / "small.toml"
        path.write_text(SMALL.replace("scope", 'summary = "For tests."\nscope', 1), encoding="utf-8")

        assert headlines()[0] == Headline(
            id="small",
            title="Small",
            version="1.0.0",
            summary="For tests.",
            target_minutes=2,
            path=path,
            origin="own",
            problem="",
        )

    def test_every_bundled_protocol_has_a_headline_without_a_problem(self) -> None:
        found = headlines()

        assert [each.path for each in found] == sorted(BUNDLED.glob("*.toml"))
        assert [each for each in found if each.problem or not each.title] == []

    def test_what_stands_below_the_first_section_is_not_read(self, own: Path) -> None:
        (own / "small.toml").write_text(SMALL + "not TOML at all", encoding="utf-8")

        assert headline("small").title == "Small"

    def test_a_section_header_inside_a_text_does_not_mislead(self, own: Path) -> None:
        text = SMALL.replace('title = "Small"', 'summary = """\n[[section]]\n"""\ntitle = "Small"')
        (own / "small.toml").write_text(text, encoding="utf-8")

        assert headline("small").title == "Small"
        assert headline("small").summary == "[[section]]"

    def test_a_file_without_sections_is_read_whole(self, own: Path) -> None:
        (own / "small.toml").write_text(
            'title = "Small"\nversion = "1"\ntarget_minutes = 3', encoding="utf-8"
        )

        assert headline("small").title == "Small"

    @pytest.mark.parametrize(
        ("content", "problem"),
        [
            (b"", "the file is empty"),
            (b"\xff", "byte 1 of the file, 0xFF, is not UTF-8"),
            (b"title = ", "not a value"),
            (SMALL.replace('"Small"', "5").encode(), "'title' is the number 5"),
            (SMALL.replace("title =", "titel =", 1).encode(), "missing key 'title'"),
        ],
    )
    def test_a_file_that_cannot_be_used_is_listed_with_its_problem(
        self, own: Path, content: bytes, problem: str
    ) -> None:
        (own / "small.toml").write_bytes(content)

        assert headline("small").problem.startswith(problem)

    def test_a_folder_called_like_a_protocol_is_listed_with_its_problem(self, own: Path) -> None:
        (own / "small.toml").mkdir()

        assert headline("small").problem == "a folder, not a file"

    def test_a_key_of_very_many_parts_is_named_before_the_parser_takes_its_time_over_it(
        self, own: Path
    ) -> None:
        text = SMALL.replace("scope", "x" + ".x" * 100_000 + " = 1\nscope", 1)
        (own / "small.toml").write_text(text, encoding="utf-8")

        assert headline("small").problem == "a key has more than 20 dotted parts"

    def test_no_folder_of_own_protocols_is_needed(self, own: Path) -> None:
        own.rmdir()

        assert {each.origin for each in headlines()} == {"bundled"}

    def test_a_text_in_a_headline_cannot_command_the_terminal(self, own: Path) -> None:
        (own / "small.toml").write_text(SMALL.replace('"Small"', '"\\u001b[2J"'), encoding="utf-8")

        assert "\x1b" not in headline("small").title


def test_the_largest_file_is_as_documented() -> None:
    assert library.LARGEST == 2_000_000
