"""Whatever a page sends, it is taken or refused in a sentence; nothing else comes out and nothing half-taken stays."""

import copy
import json

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scanprep.errors import ScanprepError
from scanprep.review.messages import MessageError, angles_of, decision_of, drag_of, read, try_of
from tests.review.cases import small_desk

MOVE = {"object": "FB-001", "panel": "West", "face": "A", "from_left_mm": 130.0, "y_mm": 1300.0}
VALID = [
    (decision_of, {"what": "place", "by": {"person": "Ada", "role": "curator"}, "base": {"FB-001": 4},
                   "moves": [MOVE]}),
    (decision_of, {"what": "hold", "by": {"person": "Ada"}, "base": {"FB-001": 4}, "object": "FB-001", "index": 1}),
    (decision_of, {"what": "say", "by": {"person": "Ada"}, "base": {"FB-001": 4}, "object": "FB-001", "words": "seen",
                   "line": {"marks": [{"centre_mm": [1.0, 2.0, 3.0], "radius_mm": 4.0, "why": "rim"}],
                            "up": [0.0, 1.0, 0.0], "stand_off_mm": 25.0, "pad": "felt"}}),
    (decision_of, {"what": "undo", "by": {"person": "Ada"}, "base": {"FB-001": 4}, "entries": [3, 4]}),
    (decision_of, {"what": "session", "by": {"person": "Ada"}, "base": {"": 9}, "words": "first", "people": ["Ada"]}),
    (drag_of, {"ticket": 3, "moves": [MOVE]}),
    (angles_of, {"object": "FB-001", "tilt_deg": 10.0, "turn_deg": -20.0, "roll_deg": 0.0}),
    (try_of, {"name": "lower", "moves": [MOVE]}),
]
ODD = st.one_of(
    st.none(), st.booleans(), st.integers(-2**70, 2**70), st.floats(allow_nan=False, allow_infinity=False),
    st.sampled_from(["", "nan", "inf", "-1e999", "FB-002", "FB-009", "A", "West", "../../x", "\x00", "é" * 3000, "say",
                     "undo", "lock", "sign-off", "note", "take-back-word", 1e308, -0.0, 10**400]),
    st.lists(st.integers(), max_size=3),
    st.dictionaries(st.sampled_from(["from_left_mm", "person", "why"]), st.integers(), max_size=2))


def places(value, path=()):
    """Every place in a message, as the way to it."""
    found = [path] if path else []
    for key, item in value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ():
        found += places(item, (*path, key))
    return found


@st.composite
def spoilt(draw):
    reads, plain = draw(st.sampled_from(VALID))
    plain = copy.deepcopy(plain)
    for _ in range(draw(st.integers(1, 2))):
        *way, last = draw(st.sampled_from(places(plain)))
        inner = plain
        for key in way:
            inner = inner[key]
        act = draw(st.sampled_from(["swap", "swap", "swap", "drop", "add"]))
        if act == "swap" or isinstance(inner, list):
            inner[last] = draw(ODD)
        elif act == "drop":
            del inner[last]
        else:
            inner[draw(st.sampled_from(["admin", "panel", "line", "yes", "index"]))] = draw(ODD)
    return reads, plain


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    return small_desk(tmp_path_factory.mktemp("fuzz") / "case", 2)


QUICK = settings(max_examples=60, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))


@QUICK
@given(spoilt())
def test_a_spoilt_message_is_read_or_refused_and_leaves_nothing_half_taken(desk, case):
    reads, plain = case
    before = desk.folder.state.seq
    try:
        said = reads(read(json.dumps(plain)))
        if reads is decision_of:
            desk.decide(said)
        elif reads is drag_of:
            desk.trial_findings(desk.trial(said.moves))
        elif reads is angles_of:
            desk.ask_angles(said)
            desk.stop_asking(said.object)
    except ScanprepError as problem:
        assert str(problem).strip() and "Traceback" not in str(problem)
        assert desk.folder.state.seq == before


@QUICK
@given(st.binary(max_size=200))
def test_bytes_that_are_no_message_are_refused(raw):
    try:
        read(raw)
    except MessageError as problem:
        assert str(problem).startswith("the message")
