"""A rail on its bed, the worked example of the textbooks, by the function that bears posts in acrylic.

Boresi and Schmidt, Advanced Mechanics of Materials, chapter on beams on elastic foundations, first example (from
memory): steel rail, E = 200 GPa, I = 36.9e6 mm4, bed k = 14.0 N/mm2, one wheel of 170 kN: beta = 0.000830 /mm, greatest
deflection 5.04 mm, greatest moment 51.2 kN m.
"""

from pytest import approx

from scanprep.post.bearing import bed_bearing

EI, BED = 200_000.0 * 36.9e6, 14.0


def test_the_wheel_s_deflection_and_moment():
    # the rail is two half-infinite ones, each under half the wheel, that meet without a turn: M = P / (4 beta)
    beta = (BED / (4 * EI)) ** 0.25
    assert beta == approx(0.000830, abs=5e-7)
    moment = 170_000 / (4 * beta)
    assert moment == approx(51.2e6, rel=1e-3)
    half = bed_bearing(85_000.0, -moment, 12_000.0, EI, BED)
    assert half.mouth_mm == approx(5.04, abs=0.005)
    assert half.mouth_slope_rad == approx(0.0, abs=1e-6)
    assert abs(half.greatest_moment_Nmm) == approx(51.2e6, rel=1e-3)
