"""How far long work is, at a terminal and in a log."""

import io

from scanprep_cli.console import Progress


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self):
        return True


def run(monkeypatch, stream, *sentences):
    monkeypatch.setattr("sys.stderr", stream)
    tell = Progress()
    for k, sentence in enumerate(sentences, start=1):
        tell(k, len(sentences), sentence)
    return stream.getvalue()


def test_a_log_has_a_line_for_each_step_that_did_something(monkeypatch):
    told = run(monkeypatch, io.StringIO(), "", "study 2: 3.1 s", "")
    assert told.splitlines() == ["[#############       ] 2/3 done, 1 left: study 2: 3.1 s"]


def test_a_terminal_has_one_line_that_is_written_over(monkeypatch):
    told = run(monkeypatch, Terminal(), "study 1: 2.0 s", "", "study 3: 1.0 s")
    assert told.count("\n") == 1 and told.endswith("3/3 done, 0 left: study 3: 1.0 s\n")
    assert told.count("\r\x1b[2K") == 3


def test_nothing_is_left_on_a_terminal_where_nothing_was_done(monkeypatch):
    assert run(monkeypatch, Terminal(), "", "").endswith("\r\x1b[2K")


def test_a_name_in_a_sentence_moves_no_cursor(monkeypatch):
    assert "\x1b[2J" not in run(monkeypatch, Terminal(), "study \x1b[2J: 1 s")
