import re

import pytest

from layers.problems import ProblemList
from pegscore.club_files import check_club_files


def test_every_fault_of_every_file_of_the_clubs_own_is_told(tmp_path):
    (tmp_path / "baits.toml").write_text(
        "[hemp]\ntitle = 3\n[maggot]\nsink_seconds = 0\n", "utf-8"
    )
    (tmp_path / "float_guide.toml").write_text("least_g = -1\npace = 2\n", "utf-8")
    (tmp_path / "species").mkdir()
    (tmp_path / "species" / "chub.toml").write_text("title = 5\n", "utf-8")
    problems = ProblemList()
    check_club_files(tmp_path, problems)
    told = [(each.file, each.refused) for each in problems.found]
    assert told.count(("baits.toml", True)) == 3
    assert told.count(("float_guide.toml", True)) == 2
    assert told.count(("species/chub.toml", True)) == 1
    lines = [each.line() for each in problems.found]
    assert any(
        "[hemp] title is 3; write it as text in quotes" in each for each in lines
    )


def test_a_folder_without_any_has_no_fault(tmp_path):
    problems = ProblemList()
    check_club_files(tmp_path, problems)
    assert problems.found == []


def test_a_file_that_is_no_toml_is_told_by_its_name(tmp_path):
    (tmp_path / "baits.toml").write_text("[maggot\n", "utf-8")
    problems = ProblemList()
    check_club_files(tmp_path, problems)
    (fault,) = problems.found
    assert fault.file == "baits.toml"
    assert "not TOML" in fault.what


@pytest.mark.parametrize(
    "name", ["baits.toml", "float_guide.toml", "peg_names.toml", "species/chub.toml"]
)
def test_a_link_out_of_the_folder_is_refused_unread(tmp_path, name):
    """A survey folder handed round must not be able to name files of its reader."""
    secret = tmp_path / "secret"
    secret.write_text("password = [\n", "utf-8")
    folder = tmp_path / "river"
    (folder / "species").mkdir(parents=True)
    (folder / name).symlink_to(secret)
    problems = ProblemList()
    check_club_files(folder, problems)
    (fault,) = problems.found
    assert fault.file == name
    assert "link out of the survey folder" in fault.line()
    assert "password" not in fault.line()


def test_a_link_within_the_folder_is_followed(tmp_path):
    (tmp_path / "old.toml").write_text('[renamed]\n"1" = "2"\n', "utf-8")
    (tmp_path / "peg_names.toml").symlink_to(tmp_path / "old.toml")
    problems = ProblemList()
    check_club_files(tmp_path, problems)
    assert problems.found == []


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a = 1\n" * 200_000, "holds 1,200,000 bytes"),
        ("a = " + "[" * 5000, "TOML|read"),
    ],
)
def test_a_file_without_measure_is_refused(tmp_path, text, said):
    (tmp_path / "baits.toml").write_text(text, "utf-8")
    problems = ProblemList()
    check_club_files(tmp_path, problems)
    (fault,) = problems.found
    assert re.search(said, fault.line())
