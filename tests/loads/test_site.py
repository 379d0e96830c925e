"""What a site asks of a part by its frequency, against the code's clauses worked by hand."""

import pytest
from pytest import approx

from scanprep.brief import CaseBrief
from scanprep.loads.site import amplification_of, demanded_g, shake_of

# S_DS 1.0, I_p 1.5, z/h 0.5, R_p 2.5: F_p/W_p = 0.4 a_p x 1.0 x 2 / (2.5/1.5) = 0.48 a_p; least 0.45, most 2.4
SITE = CaseBrief("C", spectral_g=1.0, importance=1.5, height_share=0.5)


@pytest.mark.parametrize(("frequency_Hz", "factor"), [(1.6, 2.5), (11.0, 2.5), (16.6, 2.5), (16.7, 1.0), (60.0, 1.0)])
def test_flexible_is_a_period_above_six_hundredths_of_a_second(frequency_Hz, factor):
    # ASCE 7-16, 11.2, component, flexible: period above 0.06 s; a_p 2.5 of flexible and 1.0 of rigid components:
    # UFC 3-310-03A, table 10-1 ("other flexible components" 2.5, "other rigid components" 1.0)
    assert amplification_of(frequency_Hz) == factor


def test_published_table_flexible_component():
    # UFC 3-310-03A table 10-1, limited deformability: a_p 2.5, R_p 2.5. With S_DS 0.4667, I_p 1.5, z 0:
    # 0.4 x 2.5 x 0.4667 / (2.5/1.5) = 0.2800; the published example with a_p 1.5 gives 0.168, raised to the least 0.210
    light = CaseBrief("C", spectral_g=0.4667, importance=1.5)
    assert shake_of(light, 11.0).horizontal_g == approx(0.2800, abs=5e-5)
    assert shake_of(light, 11.0).vertical_g == approx(0.0933, abs=5e-5)
    # rigid: 0.4 x 1.0 x 0.4667 x 1.5/2.5 = 0.112, so the least governs
    assert shake_of(light, 40.0).horizontal_g == approx(0.2100, abs=5e-5)


@pytest.mark.parametrize(("own", "carrier", "asked"), [
    (11.0, None, 1.2),  # flexible, on the floor: 0.48 x 2.5
    (40.0, None, 0.48),  # rigid
    (40.0, 3.0, 1.2),  # rigid on a flexible panel: no less than its panel
    (11.0, 3.0, 1.2),  # both flexible, far apart
    (5.0, 3.0, 2.4),  # in step: the code's most, 1.6 x 1.0 x 1.5
])
def test_an_object_is_asked_for_what_it_and_its_panel_make_of_it(own, carrier, asked):
    assert shake_of(SITE, own, carrier, in_step_ratio=2.0).horizontal_g == approx(asked)
    assert shake_of(SITE, own, carrier, in_step_ratio=2.0).vertical_g == approx(0.2)  # 0.2 S_DS


def test_an_engineer_s_number_is_taken_as_it_is():
    given = CaseBrief("C", acceleration_g=0.8, vertical_g=0.3)
    assert (shake_of(given, 3.0).horizontal_g, shake_of(given, 3.0, 3.0).vertical_g) == (0.8, 0.3)
    assert demanded_g(given) == 0.8
    assert shake_of(CaseBrief("C"), 3.0).vertical_g == 0.35  # footfall in every direction


def test_holds_are_made_for_a_flexible_part():
    assert demanded_g(SITE) == approx(1.2)


def test_no_frequency_is_refused():
    with pytest.raises(ValueError, match="above 0 Hz"):
        amplification_of(0.0)
