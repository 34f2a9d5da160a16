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
