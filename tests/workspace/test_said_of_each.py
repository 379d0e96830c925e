"""What is said of `all`: of each of which it can be said; the others are named, and nothing is said in silence."""

import pytest
from scanprep_cli.main import app
from typer.testing import CliRunner

from scanprep.case.record.entry import NewEntry
from scanprep.errors import RecordError
from scanprep.workspace.decisions import said_of_each
from scanprep.workspace.folder import open_case
from tests.review.cases import small_case


def say(number):
    if number in ("2", "3"):
        raise RecordError(f"object {number} has no chosen hold")
    return (NewEntry("noted", number),)


def test_of_all_those_are_left_out_of_which_it_cannot_be_said():
    said, left = said_of_each(("1", "2", "3", "4"), say, every=True)
    assert [entry.object for entry in said] == ["1", "4"]
    assert left == ("object 2 has no chosen hold", "object 3 has no chosen hold")


@pytest.mark.parametrize(("numbers", "every"), [(("1", "2"), False), (("2", "3"), True)])
def test_one_that_was_named_stops_all_of_it_and_so_does_it_where_nothing_is_left(numbers, every):
    with pytest.raises(RecordError, match="object 2 has no chosen hold"):
        said_of_each(numbers, say, every=every)


def test_the_command_says_who_is_left_out(tmp_path, monkeypatch):
    monkeypatch.setenv("SCANPREP_PERSON", "Ada")
    root = small_case(tmp_path / "case", 3).root

    def run(*words):
        return CliRunner().invoke(app, [*map(str, words)])

    assert run("choose", root, "FB-001", 1).exit_code == 0
    assert run("agree", root, "FB-001,FB-002", "contacts").exit_code != 0  # named: nothing is put on record
    done = run("agree", root, "all", "contacts")
    assert done.exit_code == 0
    assert done.stderr.splitlines() == [f"left out: object {n} has no chosen hold: nothing to agree to yet. Choose one "
                                        "first" for n in ("FB-002", "FB-003")]
    assert [entry.object for entry in open_case(root).entries if entry.kind == "agreed"] == ["FB-001"]
    chosen = run("choose", root, "all", 3)
    assert chosen.exit_code == 0 and chosen.stderr == ""  # each of them has three
    assert run("choose", root, "all", 4).exit_code != 0  # none has a fourth
