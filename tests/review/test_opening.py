"""A case is looked at while it is still being opened, as it was kept, where nothing has changed since."""

import gzip
import json

import pytest

from scanprep.errors import InputError
from scanprep.plain_values import to_plain
from scanprep.review.opening import Opening, keep_scene
from scanprep.review.serve import Service
from scanprep.workspace.folder import open_case
from tests.review.cases import small_desk
from tests.review.live import ask, serving


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    found = small_desk(tmp_path_factory.mktemp("opening") / "case", 2)
    found.catch_up()
    keep_scene(found.folder, found.scene, found.shapes())
    return found


def asked(address, path):
    status, _, body = ask(address, path)
    return status, json.loads(gzip.decompress(body))


class _Slow(Opening):
    """An opening that nobody has begun: the desk is never there."""

    def begin(self):
        pass


def test_what_was_kept_is_shown_before_the_desk_is_there(desk, monkeypatch):
    slow = _Slow(open_case(desk.folder.root), 1)
    with serving(slow) as addresses:
        status, scene = asked(addresses.decides, "/api/case")
        assert status == 200 and scene["opening"]["done"] == 0
        assert scene["objects"] == to_plain(desk.scene)["objects"]
        assert asked(addresses.decides, "/api/shapes") == (200, to_plain(desk.shapes()))
        slow.desk.set_result(desk)
        assert "opening" not in asked(addresses.decides, "/api/case")[1]


def test_what_was_kept_is_not_shown_after_anything_changed(desk):
    from scanprep.case.record.decide import lock

    folder = open_case(desk.folder.root)
    folder.say(lock(folder.state, "FB-001", True), "Cy")
    slow = _Slow(open_case(desk.folder.root), 1)
    assert slow.kept("case") is None
    with serving(slow) as addresses:
        status, told = asked(addresses.decides, "/api/case")
        assert status == 200 and set(told) == {"opening", "seat"}
        slow.desk.set_result(desk)


def test_what_keeps_a_case_from_being_opened_ends_the_server_with_its_sentence(desk, monkeypatch):
    def broken(*_):
        raise InputError(field="scan", value="x", problem="is no scan", remedy="Give another")

    monkeypatch.setattr("scanprep.review.opening.open_desk", broken)
    service = Service(Opening(desk.folder, 1), False, 0)
    with pytest.raises(InputError, match="is no scan"):
        service.run()
