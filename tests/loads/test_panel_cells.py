"""Four panels under every load case, worked again by a chain of rigid links with springs between them.

The links (1200 of them) bend only at their joints, E I / h each; weights lean with them. Nothing of it is shared with
the beam elements of the library.
"""

import dataclasses

import numpy as np
import pytest
from pytest import approx
from scipy import sparse
from scipy.sparse.linalg import eigsh, splu

from scanprep.brief import CaseBrief, PanelBrief
from scanprep.loads import cases as case
from scanprep.loads.records import PANEL_PARTS, ChainPart
from scanprep.panel.chain import panel_chain, panel_loads, reactions
from scanprep.panel.resonance import transmissibility
from scanprep.panel.strength import FaceLoad
from scanprep.rules import Rulebook

RULES = Rulebook()
G = 9.80665e-3
HELD = PanelBrief("held", 700, 2200, 30.0, thickness_measured=True, grade="cell cast", foot_known="designed",
                  top_restraint=True)
FREE = dataclasses.replace(HELD, name="free", top_restraint=False, height_mm=1200.0)
LOW = PanelBrief("low", 500, 900, 20.0, thickness_measured=True, grade="cell cast", foot="flexible",
                 foot_stiffness_Nmm_per_rad=8e6, foot_known="measured")
WIDE = PanelBrief("wide", 1100, 1900, 25.0, thickness_measured=True, foot_known="designed", top_restraint=True)
PANELS = (HELD, FREE, LOW, WIDE)
LINKS = 1200


def loads_on(panel):
    return tuple(FaceLoad("A" if i % 3 else "B", panel.width_mm * (0.2 + 0.6 * (i % 4) / 3),
                          panel.height_mm * (0.15 + 0.07 * i), 150.0 + 60 * i, 60.0 + 3 * i) for i in range(11))


class Links:
    """Rigid links on end, joints that bend."""

    def __init__(self, panel, loads, E=3000.0):
        self.h, self.panel = panel.height_mm / LINKS, panel
        self.y = np.arange(LINKS + 1) * self.h
        t, b = panel.thickness_mm, panel.width_mm
        self.EI, self.W = E * b * t**3 / 12, b * t**2 / 6
        self.line_N = 1190e-6 * G * b * t  # per mm of height
        self.items = [(item.y_mm, item.mass_g * G, item.offset_mm if item.face == "A" else -item.offset_mm)
                      for item in loads]
        one = sparse.eye_array(LINKS + 1, format="csr")
        D1 = (one[1:] - one[:-1]) / self.h  # a link's lean
        D2 = (D1[1:] - D1[:-1]) / self.h  # a joint's bend
        above = self.line_N * (panel.height_mm - (self.y[:-1] + self.h / 2))
        above += np.array([sum(w for y, w, _ in self.items if y > at + self.h / 2) for at in self.y[:-1]])
        self.D1, self.D2 = D1, D2
        stiff = self.h * (self.EI * D2.T @ D2 - D1.T @ sparse.diags_array(above) @ D1)
        # the foot: half a link's bend before the first joint, in line with the spring where there is one
        spring = panel.foot_stiffness_Nmm_per_rad
        root = 2 * self.EI / self.h
        self.root = root if spring is None else 1 / (1 / root + 1 / spring)
        self.first = D1[:1].toarray()[0]
        self.K = (stiff + self.root * D1[:1].T @ D1[:1]).tocsc()
        self.free = np.arange(1, LINKS + 1 - panel.top_restraint)
        self.solve = splu(self.K[self.free][:, self.free]).solve

    def force(self, at, amount):
        """A force at a height, shared by the two joints next to it."""
        load = np.zeros(LINKS + 1)
        k = min(int(at / self.h), LINKS - 1)
        s = at / self.h - k
        load[k] += amount * (1 - s)
        load[k + 1] += amount * s
        return load

    def couple(self, at, amount):
        """A moment at a height, on the link there; + leans it as a force at the top would."""
        k = min(int(at / self.h), LINKS - 1)
        return amount * self.D1[k:k + 1].toarray()[0]

    def hung(self, times=1.0):
        return sum((self.couple(y, times * w * out) for y, w, out in self.items), np.zeros(LINKS + 1))

    def shaken(self, a):
        even = np.full(LINKS + 1, self.line_N * self.h)
        even[[0, -1]] /= 2
        return a * (even + sum((self.force(y, w) for y, w, _ in self.items), np.zeros(LINKS + 1)))

    def answer(self, load, bowed=0.0):
        """Shear and moment at the foot, force at the top, stress and greatest move."""
        if bowed:  # a curvature of its own at every joint, and half of one at the foot
            load = load + self.h * self.EI * bowed * self.D2.sum(axis=0)
            load = load + self.root * bowed * self.h / 2 * self.first
        w = np.zeros(LINKS + 1)
        w[self.free] = self.solve(load[self.free])
        rest = self.K @ w - load
        moments = self.EI * (self.D2 @ w - bowed)
        foot = self.root * (self.first @ w - bowed * self.h / 2)
        top = rest[-1] if self.panel.top_restraint else 0.0
        return abs(rest[0]), abs(foot), abs(top), max(np.abs(moments).max(), abs(foot)) / self.W, np.abs(w).max()


def ours(found):
    return (found.out_shear_N, found.out_moment_Nmm, found.top_N, found.stress_MPa, found.move_mm)


def envelope(panel, loads, ask, E=3000.0):
    """The worst of every stage of hanging: bare, one face, the other, both."""
    stages = [(), tuple(x for x in loads if x.face == "A"), tuple(x for x in loads if x.face == "B"), loads]
    return np.max([answer for stage in stages for answer in ask(Links(panel, stage, E))], axis=0)


# 1200 links against 32 cubic elements, of which each object sits in the middle of one: 1 %; a moment beside a couple
# jumps by that couple within one link
CLOSE = {"rel": 0.012, "abs": 1e-6}


@pytest.mark.parametrize("panel", PANELS, ids=lambda panel: panel.name)
def test_weight_years_and_pushes(panel):
    loads = loads_on(panel)
    found = {one.case: one for one in reactions(panel_chain(panel, loads, RULES))}
    assert ours(found[case.WEIGHT])[1:] == approx(envelope(panel, loads, lambda k: [k.answer(k.hung())])[1:], rel=0.03,
                                                  abs=2e-3)
    years = envelope(panel, loads, lambda k: [k.answer(k.hung())], E=1500.0)
    assert found[case.YEARS].move_mm == approx(years[4], **CLOSE)
    for key, at in ((case.PUSH_SHEET, min(1200.0, panel.height_mm)), (case.PUSH_TOP, panel.height_mm)):
        asked = envelope(panel, loads, lambda k, at=at: [k.answer(k.hung() + k.force(at, s * 100.0)) for s in (1, -1)])
        assert found[key].out_moment_Nmm == approx(asked[1], rel=0.012, abs=200)
        assert found[key].move_mm == approx(asked[4], rel=0.012, abs=2e-3)


@pytest.mark.parametrize("panel", PANELS, ids=lambda panel: panel.name)
@pytest.mark.parametrize("a", [0.35, 1.0])
def test_the_site_shakes_sheet_and_objects(panel, a):
    loads = loads_on(panel)
    brief = CaseBrief("C", acceleration_g=a, vertical_g=0.2)
    chain = panel_chain(panel, loads, RULES, brief)
    found = {one.case: one for one in reactions(chain)}[case.SHAKE]
    asked = envelope(panel, loads, lambda k: [k.answer(k.hung(1 + up * 0.2) + k.shaken(s * a))
                                              for s in (1, -1) for up in (1, -1)])
    assert ours(found)[1:] == approx(asked[1:], rel=0.012)
    assert found.out_shear_N == approx(asked[0], rel=0.02)
    # along the sheet it is a wall: all the weight times a, at the height of the centre of mass
    weight = 1190e-6 * G * panel.width_mm * panel.thickness_mm * panel.height_mm
    total = weight + sum(x.mass_g * G for x in loads)
    assert found.along_shear_N == approx(a * total)
    most = [weight * panel.height_mm / 2 + sum(x.mass_g * G * x.y_mm for x in loads)]
    assert found.along_moment_Nmm == approx(a * max(most))
    assert found.down_N == approx(1.2 * total)


def test_a_free_sheet_s_foot_moment_by_hand():
    # 0.7 x 2.2 x 0.030 x 1190 = 54.98 kg; 0.35 g at half of 2.2 m: 0.35 x 539.2 x 1.1 = 207.6 N m, and 1 g 593 N m;
    # P-delta adds w(share of its own buckling load): 10 to 13 %
    bare = dataclasses.replace(HELD, top_restraint=False)
    for a, hand in ((0.35, 207.6e3), (1.0, 593.1e3)):
        found = {one.case: one for one in reactions(panel_chain(bare, (), RULES, CaseBrief("C", acceleration_g=a,
                                                                                           vertical_g=0.0)))}
        assert hand * 1.05 < found[case.SHAKE].out_moment_Nmm < hand * 1.13


@pytest.mark.parametrize("panel", PANELS, ids=lambda panel: panel.name)
def test_one_warm_face_bows_a_free_sheet_and_presses_a_held_one(panel):
    found = {one.case: one for one in reactions(panel_chain(panel, (), RULES))}[case.ONE_SIDE_WARM]
    bend = 70e-6 * 3.0 / panel.thickness_mm
    asked = Links(panel, ()).answer(np.zeros(LINKS + 1), bend)
    assert ours(found)[1:] == approx(np.array(asked)[1:], rel=0.012, abs=2.0 if panel.top_restraint else 1e-3)
    if not panel.top_restraint and panel.foot == "clamped":
        # alpha dT/t h^2/2: 7e-6 x 1200^2/2 = 5.0 mm on 1.2 m; the tall free sheet of 2.2 m: 16.9 mm
        assert found.move_mm == approx(bend * panel.height_mm**2 / 2, rel=0.06)


@pytest.mark.parametrize("panel", PANELS, ids=lambda panel: panel.name)
def test_cells_follow_from_reactions(panel):
    asked = panel_loads(panel, loads_on(panel), RULES, CaseBrief("C"))
    by_case = {one.case: one for one in asked.reactions}
    assert len(asked.table.cells) == 16 * len(PANEL_PARTS)
    years = 10.3 if panel.grade == "cell cast" else 5.2
    hole = asked.table.cell(case.YEARS, ChainPart.AT_HOLE)
    # Kirsch: three times the plain stress beside a hole, and half of the continuous limit for the fit
    assert hole.demand == approx(3 * by_case[case.YEARS].stress_MPa + years / 2) and hole.resistance == years
    assert asked.table.cell(case.SHAKE, ChainPart.FOOT).demand == by_case[case.SHAKE].out_moment_Nmm
    assert asked.table.cell(case.YEARS, ChainPart.SHEET).resistance == approx(panel.height_mm / 300)
    if panel.top_restraint:
        # growth: 70e-6 x 20 K x 2200 = 3.08 mm; damp: 0.15 % x 20/65 x 2200 = 1.02 mm
        assert asked.table.cell(case.WARM, ChainPart.TOP).demand == approx(70e-6 * 20 * panel.height_mm)
        assert asked.table.cell(case.DAMP, ChainPart.TOP).demand == approx(0.0015 * 20 / 65 * panel.height_mm)
    else:
        assert asked.table.cell(case.WARM, ChainPart.TOP).because == "the top is free"


def test_walking_by_a_panel_in_step_with_it():
    # a free sheet of 2.2 m sways at about 1.5 Hz, just below the slowest step of 1.6 Hz: its gain at the nearest pace
    bare = dataclasses.replace(HELD, top_restraint=False)
    chain = panel_chain(bare, (), RULES)
    pace = min(max(chain.first_Hz, 1.6), 2.4)
    gain = transmissibility(pace / chain.first_Hz, 0.03)
    found = {one.case: one for one in reactions(chain)}[case.WALKING]
    links = Links(bare, ())
    assert found.move_mm == approx(links.answer(links.shaken(0.005 * gain))[4], rel=0.015)
    # a stiff one is followed by the fourth harmonic at most, a quarter as strong
    assert panel_loads(LOW, (), RULES).table.cell(case.WALKING, ChainPart.SHEET).demand < 0.5


def first_Hz(links):
    """The first sway of the links, weight leaning with them, masses lumped at the joints."""
    even = np.full(LINKS + 1, links.line_N * links.h / G)
    even[[0, -1]] /= 2
    mass = sparse.diags_array(even)
    for y, weight, out in links.items:
        # out in front of the sheet, a mass rides up and down too as its link leans
        leans = links.D1[min(int(y / links.h), LINKS - 1)]
        mass = mass + sparse.diags_array(links.force(y, weight / G))
        mass = mass + weight / G * out**2 * leans.reshape(-1, 1) @ leans.reshape(1, -1)
    # N/mm over g is (1e3 rad/s)^2
    stiff = links.K[links.free][:, links.free]
    found = eigsh(stiff, 1, mass.tocsc()[links.free][:, links.free], sigma=0, return_eigenvectors=False)
    return np.sqrt(found[0]) * 1e3 / (2 * np.pi)


def staged(panel):
    """Every stage of hanging: bare, one face, the other, both."""
    loads = loads_on(panel)
    return [Links(panel, stage) for stage in ((), tuple(x for x in loads if x.face == "A"),
                                              tuple(x for x in loads if x.face == "B"), loads)]


@pytest.mark.parametrize("panel", PANELS, ids=lambda panel: panel.name)
def test_a_push_on_the_highest_object_and_the_lift(panel):
    loads = loads_on(panel)
    brief = CaseBrief("C", vertical_g=0.6)
    asked = panel_loads(panel, loads, RULES, brief)
    found = {one.case: one for one in asked.reactions}
    at = max(item.y_mm for item in loads)
    pushed = envelope(panel, loads, lambda k: [k.answer(k.hung() + k.force(at, s * 100.0)) for s in (1, -1)])
    # the moment of what leans on the sheet jumps by its own couple within one link
    assert ours(found[case.PUSH_OBJECT])[1:] == approx(pushed[1:], rel=0.015, abs=2e-3)
    assert asked.table.cell(case.PUSH_OBJECT, ChainPart.SHEET).demand == found[case.PUSH_OBJECT].move_mm
    # up and down, only what hangs off the sheet bends it: 1.6 and 0.4 times its weight
    lifted = envelope(panel, loads, lambda k: [k.answer(k.hung(1.6)), k.answer(k.hung(0.4))])
    assert ours(found[case.LIFT])[1:] == approx(lifted[1:], rel=0.03, abs=2e-3)
    weight = 1190e-6 * G * panel.width_mm * panel.thickness_mm * panel.height_mm + sum(x.mass_g * G for x in loads)
    assert found[case.LIFT].down_N == approx(1.6 * weight) and found[case.LIFT].along_shear_N == 0.0


@pytest.mark.parametrize("panel", PANELS, ids=lambda panel: panel.name)
def test_steps_tire_the_sheet_at_a_hole(panel):
    # footfall of 1.6 to 2.4 Hz with four harmonics, each weaker as its number (AISC Design Guide 11, from memory); a
    # mass on its spring follows its support T times, damping 3 % (any textbook of vibration)
    stages = staged(panel)
    own = panel_chain(panel, loads_on(panel), RULES).first_Hz
    assert own == approx(min(first_Hz(one) for one in stages), rel=1e-3)
    # next to a harmonic the gain is steep (2 % for 0.2 % of the rate), so that it is taken at one and the same rate
    gains = []
    for k in (1, 2, 3, 4):
        r = min(max(own, 1.6 * k), 2.4 * k) / own
        gains.append(np.sqrt((1 + (0.06 * r) ** 2) / ((1 - r**2) ** 2 + (0.06 * r) ** 2)) / k)
    swings = [one.answer(one.shaken(0.005 * max(gains))) for one in stages]
    table = panel_loads(panel, loads_on(panel), RULES).table
    cell = table.cell(case.WALKING, ChainPart.AT_HOLE)
    # Kirsch: three times the swing of the plain sheet, either way
    assert cell.demand == approx(3 * max(one[3] for one in swings), rel=0.02)
    assert cell.resistance == 7.0  # 1e7 times, from memory
    assert table.cell(case.WALKING, ChainPart.SHEET).demand == approx(max(one[4] for one in swings), rel=0.02)
