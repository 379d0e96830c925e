"""Kept results: read back as they were kept by this version of the program, or not at all.

The law needs no figures: whatever another version or a bad disk left, a result is the same or computed anew.
"""

import dataclasses
import json
import zipfile
from dataclasses import dataclass

import numpy as np
import pytest

from scanprep.files import cache as cache_module
from scanprep.files.cache import Cache, key_of
from scanprep.plain_values import layout_of
from scanprep.rules import HoldRules, Rulebook
from scanprep.spec import ObjectStudy
from scanprep.vectors import F64


@dataclass(frozen=True, slots=True)
class Part:
    size_mm: float
    name: str = "part"


@dataclass(frozen=True, slots=True, eq=False)
class Whole:
    points_mm: F64
    parts: tuple[Part, ...]


KEPT = Whole(np.arange(6.0).reshape(2, 3), (Part(1.5), Part(2.5, "foot")))


@pytest.fixture
def kept(tmp_path):
    cache = Cache(tmp_path)
    cache.keep("study", "k", KEPT)
    return cache, tmp_path / "study" / "k.zip"


def is_same(found):
    return np.array_equal(found.points_mm, KEPT.points_mm) and found.parts == KEPT.parts


def other_version(*parts_fields):
    """The same records as another version has them: Part with other fields."""
    part = dataclasses.make_dataclass("Part", parts_fields, frozen=True, slots=True)
    part.__module__ = __name__
    whole = dataclasses.make_dataclass("Whole", [("points_mm", F64), ("parts", tuple[part, ...])], frozen=True,
                                       eq=False, slots=True)
    whole.__module__ = __name__
    return whole


def test_a_function_is_computed_once_for_all_that_it_reads(tmp_path):
    said = []

    def part(rules, name, size_mm):
        said.append(name)
        return Part(size_mm, name)

    cache, rules = Cache(tmp_path), Rulebook()
    other = dataclasses.replace(rules, hold=dataclasses.replace(rules.hold, friction_low=0.11))
    for read in ((rules, "a", 1.5), (rules, "a", 1.5), (Rulebook(), "a", 1.5), (rules, "a", 2.5), (other, "a", 1.5)):
        assert Cache(tmp_path).computed("part", Part, part, *read) == Part(read[2], read[1])
    assert said == ["a", "a", "a"]
    assert cache.computed("other", Part, part, rules, "a", 1.5) == Part(1.5, "a") and len(said) == 4
    # a file that another program wrote over, or cut off, is computed anew
    for path in tmp_path.glob("part/*.zip"):
        path.write_bytes(path.read_bytes()[:40])
    assert cache.computed("part", Part, part, rules, "a", 2.5) == Part(2.5, "a") and len(said) == 5


def test_what_was_kept_comes_back(kept):
    assert is_same(kept[0].load("study", "k", Whole))


@pytest.mark.parametrize("fields", [
    [("size_mm", float), ("name", str, "part"), ("hollow", bool, False)],  # a new field with a default, at the end
    [("size_mm", float), ("hollow", bool, dataclasses.field(default=False)), ("name", str, "part")],  # in the middle
    [("name", str), ("size_mm", float)],  # the order changed
    [("size_mm", int), ("name", str, "part")],  # another type
    [("size_mm", float)],
    [("size_in", float), ("name", str, "part")],
], ids=["added", "inserted", "reordered", "type", "dropped", "renamed"])
def test_another_version_computes_anew_and_never_misreads(kept, fields):
    cache, _ = kept
    assert cache.load("study", "k", other_version(*fields)) is None
    same = other_version(("size_mm", float), ("name", str, "part"))
    assert cache.load("study", "k", same).parts[1].name == "foot"  # unchanged fields are another version's too


@pytest.mark.parametrize("change", [
    lambda head: head.pop("layout"), lambda head: head["arrays"][0].__setitem__(0, "|O"),
    lambda head: head["arrays"][0].__setitem__(0, "<f4"), lambda head: head["arrays"][0].__setitem__(1, [3, 3]),
    lambda head: head["arrays"].clear(),
], ids=["no layout", "objects", "narrower numbers", "another shape", "no arrays"])
def test_a_head_that_does_not_fit_is_computed_anew(kept, change):
    cache, path = kept
    with zipfile.ZipFile(path) as old:
        parts = {name: old.read(name) for name in old.namelist()}
    head = json.loads(parts["record.json"])
    change(head)
    with zipfile.ZipFile(path, "w") as new:
        for name, content in (parts | {"record.json": json.dumps(head).encode()}).items():
            new.writestr(name, content)
    assert cache.load("study", "k", Whole) is None


@pytest.mark.parametrize("array", [
    np.zeros((0, 3)), np.array(2.5), np.array([[True], [False]]), np.arange(6, dtype=np.int32).reshape(2, 3).T,
    np.array([1.5, -2.5], dtype=">f4"),
], ids=["none", "one", "yes and no", "turned", "other end first"])
def test_arrays_of_every_form_come_back_and_may_be_written_to(tmp_path, array):
    Cache(tmp_path).keep("study", "k", Whole(array, ()))
    found = Cache(tmp_path).load("study", "k", Whole).points_mm
    assert found.dtype == array.dtype and found.shape == array.shape and np.array_equal(found, array)
    found[...] = 0


def test_a_damaged_file_is_the_same_or_dropped(kept):
    cache, path = kept
    whole, dropped = path.read_bytes(), 0
    for at in range(len(whole)):
        for bit in (0x01, 0x10, 0x80):
            broken = bytearray(whole)
            broken[at] ^= bit
            path.write_bytes(broken)
            found = cache.load("study", "k", Whole)
            assert found is None or is_same(found), (at, bit)
            dropped += found is None
    assert dropped > len(whole)  # most of an archive is under a checksum; times of files are not
    for length in range(0, len(whole), 7):
        path.write_bytes(whole[:length])
        assert cache.load("study", "k", Whole) is None


def test_a_key_covers_the_names_of_settings_and_the_version(monkeypatch):
    shop = Rulebook().hold
    wider = dataclasses.make_dataclass("HoldRules", [
        *((f.name, f.type) for f in dataclasses.fields(HoldRules)[:3]), ("new_share", float),
        *((f.name, f.type) for f in dataclasses.fields(HoldRules)[3:])], frozen=True)
    values = {f.name: getattr(shop, f.name) for f in dataclasses.fields(HoldRules)}
    assert key_of(shop) == key_of(Rulebook().hold)
    assert key_of(wider(**values, new_share=0.0)) != key_of(shop)
    before = key_of(shop)
    monkeypatch.setattr(cache_module, "CODE_VERSION", cache_module.CODE_VERSION + 1)
    assert key_of(shop) != before


def test_the_layout_of_a_study_goes_all_the_way_down():
    told = layout_of(ObjectStudy)
    for record in ("HoldSet", "Hold", "Tip", "Arm", "Bend", "Survey", "Interval", "PostNeed", "Rod", "Check"):
        assert f".{record}'>(" in told, record
