"""The logbook: which line is said to be dated before one ahead of it."""

import pytest

from scanprep.case.record.entry import Entry
from scanprep.case.record.history import history


def marked(*times):
    entries = [Entry(seq, f"2026-03-{time}+00:00", "Ada", None, "note-of-later", "1", {}, "", "", "")
               for seq, time in enumerate(times, start=1)]
    return [line.seq for line in history(entries, "1") if line.dated_back]


@pytest.mark.parametrize(("second", "back"), [("02T10:00:01", []), ("02T09:50:00", []), ("02T09:49:59", [2]),
                                              ("01T10:00:00", [2])])
def test_a_line_dated_before_one_ahead_of_it_is_marked_beyond_what_two_clocks_differ(second, back):
    """Ten minutes: clocks of two machines, common practice."""
    assert marked("02T10:00:00", second) == back


def test_every_line_is_held_against_the_latest_ahead_of_it():
    # a clock set back once marks all until it has caught up, those on other objects too
    assert marked("02T10:00:00", "01T10:00:00", "01T11:00:00", "02T10:00:01") == [2, 3]


def test_the_mark_is_printed():
    entries = [Entry(1, "2026-03-02T10:00:00+00:00", "Ada", None, "note-of-later", None, {}, "", "", ""),
               Entry(2, "2026-03-01T10:00:00.123+00:00", "Ben", None, "note-of-later", "1", {}, "", "", "")]
    assert "look at this machine's clock" in history(entries, "1")[0].text()
    assert "look at this machine's clock" not in history(entries, None)[0].text()
