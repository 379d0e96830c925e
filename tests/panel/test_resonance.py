"""An object in step with its panel is told; apart from it, it is left alone."""

import pytest
from pytest import approx

from scanprep.brief import PanelBrief
from scanprep.findings import Verdict
from scanprep.panel import FaceLoad
from scanprep.panel.resonance import panel_modes_Hz, resonance_check, transmissibility
from scanprep.rules import PostRules, Rulebook


def test_transmissibility_at_its_known_points():
    # den Hartog: 1 for a slow support; 1 at r = sqrt 2 whatever the damping; sqrt(1 + 4z2)/2z at resonance
    assert transmissibility(1e-6, 0.03) == approx(1)
    for damping in (0.01, 0.03, 0.2):
        assert transmissibility(2**0.5, damping) == approx(1)
        assert transmissibility(1, damping) == approx((1 + 4 * damping**2) ** 0.5 / (2 * damping))


@pytest.mark.parametrize(("object_Hz", "verdict"), [(10.0, Verdict.LOOK), (13.9, Verdict.LOOK), (14.1, Verdict.OK),
                                                    (6.9, Verdict.OK), (30.0, Verdict.OK)])
def test_the_band_is_0_7_to_1_4(object_Hz, verdict):
    assert resonance_check(object_Hz, (10.0,), PostRules(), measured=True).verdict is verdict


def test_the_nearest_mode_decides_and_its_response_is_told():
    check = resonance_check(9.5, (1.5, 9.4, 27.0), PostRules())
    assert check.value == approx(9.5 / 9.4) and "panel 9.4 Hz" in check.note and "times the panel" in check.note


def test_modes_of_the_bare_and_the_hung_sheet_are_all_there():
    panel = PanelBrief("P", 700, 2200, 30.0, thickness_measured=True)
    modes = panel_modes_Hz(panel, (FaceLoad("A", 350, 2000, 2000, 80),), Rulebook())
    assert list(modes) == sorted(modes)
    # the bare sheet: 1.590 Hz sqrt(1 - 1/14.2) = 1.533, its own weight softening it
    assert any(mode == approx(1.533, abs=0.01) for mode in modes)
    # hung: modal mass 55/4 kg, 2 kg where the shape is 0.87: 1.533/sqrt(1 + 2 x 0.87^2 / 13.74) = 1.455, a little less
    # for the weight higher up
    assert modes[0] == approx(1.45, abs=0.01)


def test_an_unknown_panel_is_unmeasured():
    assert resonance_check(20.0, (), PostRules()).verdict is Verdict.UNMEASURED
