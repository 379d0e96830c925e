"""Laws that hold of every set of papers, over random stories of places, marks, drilled and abandoned holes, agreements,
stops and measurements: read back from the files by the formats' own rules.
"""

import csv
import io
import re
from dataclasses import replace
from xml.etree import ElementTree as Tree

import openpyxl
import pypdfium2
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pytest import approx

from scanprep.case.record.decide import agree, drill_hole, mark_hole, place, void_hole
from scanprep.case.release import hole_releases
from scanprep.findings import Finding, Verdict
from scanprep.papers.drawing.page import Issue
from scanprep.papers.paper_case import PaperCase
from scanprep.papers.paper_set import case_papers
from scanprep.papers.register import draw, entered
from scanprep.workspace.paper_files import record_mark
from tests.papers.cases import MEASURED, agreed, computed, invented_case, say
from tests.papers.reading import dxf_circles, dxf_entities

NUMBERS = ("FB-001", "FB-002", "FB-003")
PANEL = MEASURED.panels[0]
STEPS = st.one_of(
    st.tuples(st.just("place"), st.sampled_from(NUMBERS), st.sampled_from("AB"), st.integers(60, 540),
              st.integers(100, 2000)),
    st.tuples(st.just("drill"), st.sampled_from(NUMBERS), st.sampled_from(("3/16", "4.9")), st.integers(18, 24)),
    st.tuples(st.just("void"), st.sampled_from(NUMBERS)),
    st.tuples(st.just("agree"), st.sampled_from(NUMBERS)),
    st.tuples(st.just("stop"), st.sampled_from(("object FB-001", "object FB-002", f"panel {PANEL.name}"))),
    st.tuples(st.just("unmeasure"), st.sampled_from(("measured_rods", "coupons"))))


def taken(folder, stops, step):
    """The case and its stops after a step; a step that the record refuses in this state is left out."""
    kind, *said = step
    number = said[0]
    at = folder.state.placements.get(number)
    if kind == "place" and (at is None or at.state != "drilled"):
        face, x_mm, y_mm = said[1], float(said[2]), float(said[3])
        return say(folder, place(folder.state, number, PANEL, face, x_mm, y_mm, "a story")), stops
    if kind == "drill" and at is not None and at.hole is not None and at.state in ("planned", "marked"):
        folder = say(folder, mark_hole(folder.state, number, "a story"))
        return say(folder, drill_hole(folder.state, number, drill=said[1], depth_mm=float(said[2]), checked_by="second",
                                      person="tester")), stops
    if kind == "void" and at is not None and at.hole is not None:
        return say(folder, void_hole(folder.state, at.hole, "a story")), stops
    if kind == "agree" and at is not None:
        for what in ("contacts", "angle", "place"):
            folder = say(folder, agree(folder.state, number, what))
    if kind == "stop":
        return folder, (*stops, Finding("story", number, Verdict.STOP, f"{number}: a story stops it"))
    if kind == "unmeasure":
        return replace(folder, case=replace(folder.case, **{number: ()})), stops
    return folder, stops


def paper_case(folder, stops):
    result = computed(folder)
    releases = hole_releases(folder.case, folder.state, result.specs, result.placed, stops)
    return PaperCase(folder.case, folder.rules, folder.state, result.specs, result.placed, stops, Issue(), releases)


def dxf_holes(data):
    """hole -> its attributes and the layer of its block."""
    found = {}
    for kind, pairs in dxf_entities(data):
        group = dict(pairs)
        if kind == "INSERT":
            layer, facts = group[8], {}
        elif kind == "ATTRIB":
            facts[group[2]] = group.get(1, "")
            if group[2] == "NO":
                found[facts["NO"]] = {"layer": layer, "facts": facts}
    return {number: {**hole["facts"], "layer": hole["layer"]} for number, hole in found.items()}


def told_of_holes(file, data):
    """hole -> (release, X, Y, drill, depth) as one file has them; None for what it does not give."""
    def number(words):
        return None if words in ("", None, "THROUGH") else round(float(words), 2)

    if file.endswith(".dxf"):
        return {no: (f["RELEASE"], number(f["X"]), number(f["Y"]), f["DRILL"], number(f["DEPTH"]))
                for no, f in dxf_holes(data).items()}
    if file.endswith(".svg"):
        marks = [g for g in Tree.fromstring(data).iter() if g.get("class") == "HOLE"]
        return {g.get("data-no"): (g.get("data-release"), number(g.get("data-x")), number(g.get("data-y")),
                                   g.get("data-drill"), number(g.get("data-depth"))) for g in marks}
    if file.endswith(".xlsx"):
        page = openpyxl.load_workbook(io.BytesIO(data))["schedule"].iter_rows(values_only=True)
        heads = next(page)
        rows = [dict(zip(heads, row, strict=True)) for row in page]
    else:
        rows = list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"))))
    return {row["hole"]: (row["release"], number(row["x_mm"]), number(row["y_mm"]), row["drill"] or None,
                          number(row["depth_mm"])) for row in rows if row.get("hole")}


@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(STEPS, min_size=2, max_size=6))
def test_no_story_makes_papers_disagree_or_puts_an_unreleased_hole_on_a_drilling_layer(tmp_path_factory, story):
    folder, stops = agreed(invented_case(tmp_path_factory.mktemp("story"), len(NUMBERS))), ()
    registered, stood, drilled = {}, {}, {}
    for step in (None, *story):
        if step is not None:
            folder, stops = taken(folder, stops, step)
        case = paper_case(folder, stops)
        told, prints = {}, {}
        for paper in case_papers(case, ("templates", "drills", "schedule", "labels", "removal")):
            printed = paper.file.endswith(".pdf")
            if printed and not (step is story[-1] and re.search("ordinates|drill-list|labels|removal", paper.file)):
                continue  # printing takes most of the time: once a story, where it ends
            made = draw(paper.file, paper.make, registered.get(paper.file), record_mark(folder))
            registered[paper.file] = entered(made, paper.kind, "", paper.facts, 1, registered.get(paper.file))
            assert stood.setdefault(made.control.identity, made.content) == made.content
            if printed:
                assert draw(paper.file, paper.make, registered[paper.file], "another").content == made.content
                prints[paper.file] = printed_words(made.content)
                assert made.control.words in prints[paper.file]
            if printed or paper.file.startswith("removal"):
                continue
            told[paper.file] = told_of_holes(paper.file, made.content)
            if paper.file.endswith(".dxf"):
                holes, drilling = dxf_holes(made.content), [c for c in dxf_circles(made.content)
                                                            if c[3].startswith("DRILL_")]
                released = sorted((float(h["LEFT"]), float(h["Y"])) for h in holes.values()
                                  if h["RELEASE"] == "released")
                assert sorted(c[:2] for c in drilling) == [approx(at, abs=1e-3) for at in released]
                assert all(h["layer"] != "HOLE_DATA" for h in holes.values() if h["RELEASE"] != "released")
        check_agreement(told)
        check_prints(told, prints)
        check_release(told, case, folder)
        drilled |= {h.number: (h.drill, h.depth_mm) for h in folder.state.holes if h.state == "drilled"}
        for file, holes in told.items():
            for number, (drill, depth_mm) in drilled.items():  # a frozen fact never changes on any paper
                if holes.get(number, ("",))[0] == "drilled" and folder.state.hole(number).state == "drilled":
                    assert holes[number][3:] == (drill, depth_mm), (file, number)


def printed_words(content):
    book = pypdfium2.PdfDocument(content)
    return "\n".join(page.get_textpage().get_text_range() for page in book)


def check_prints(told, prints):
    """What is printed of a face is what its DXF says: every hole with its place, and a warning where one is held."""
    for file, words in prints.items():
        if file.endswith("-ordinates.pdf"):
            holes = told[file.replace("-ordinates.pdf", ".dxf")]
            for number, (release, x, y, *_) in holes.items():
                assert number in words and f"{x:.2f}" in words and f"{y:.2f}" in words, (file, number, release)
            held, released = ([no for no, hole in holes.items() if hole[0] == of] for of in ("held", "released"))
            said = " ".join(words.split())
            assert ("NOT FOR DRILLING" in said) == bool(held and not released), file
            stamp = re.search(r"HELD, do not drill: (H\d+(?:, H\d+)*)", said)
            assert (set(stamp[1].split(", ")) if stamp else set()) == (set(held) if released else set()), file
        if file == "drill-list.pdf":
            for number, (release, x, *_) in told["drill-list.csv"].items():
                assert number in words and (release != "released" or f"{x:.2f}" in words), number


def check_agreement(told):
    """What two files say of one hole is the same; the schedule gives places and depths to a tenth."""
    said = {}
    for file, holes in told.items():
        for number, facts in holes.items():
            for at, value in enumerate(facts):
                if value is not None:
                    said.setdefault((number, at), []).append((file, value))
    for (number, at), values in said.items():
        first = values[0][1]
        for file, value in values:
            same = value == first if isinstance(value, str) else value == approx(first, abs=0.06)
            assert same, (number, at, values[0][0], first, file, value)


def check_release(told, case, folder):
    """Nothing is released while a stop, a missing measurement or a missing word stands against it."""
    for release in case.releases:
        hole = release.number
        for file, holes in told.items():
            if hole in holes and release.state not in ("void", "drilled"):
                assert holes[hole][0] == ("released" if release.released else "held"), (file, hole)
    names = {name for facts in told.values() for name, fact in facts.items() if fact[0] == "released"}
    if not (folder.case.measured_rods and folder.case.coupons) or any(
            f.subject == f"panel {PANEL.name}" for f in case.findings):
        assert names == set()
