"""The survey's picture, read back pixel by pixel."""

from __future__ import annotations

import io

import numpy as np
from PIL import Image

from scanprep.brief import ObjectBrief
from scanprep.papers.pictures.survey_picture import survey_picture_png
from scanprep.rules import Rulebook
from scanprep.survey import survey_object
from tests.shapes import cleaned_of, cup


def test_bar_object_and_centre_agree_in_scale() -> None:
    cleaned = cleaned_of(cup())
    survey = survey_object(cleaned, ObjectBrief("1", material="marble"), Rulebook())
    pixels = np.asarray(Image.open(io.BytesIO(survey_picture_png(survey, cleaned.working, "A cup", size_px=400))))
    mm_per_px = 1.12 * 70 / 400  # the cup is 70 x 70 x 70
    bar = np.flatnonzero((pixels[-20:-13, :110].max(axis=2) < 40).sum(axis=0) > 4)
    assert abs(len(bar) * mm_per_px - 10) < 0.5  # the black half of a 20 mm bar, and the line it is drawn with
    view = pixels[44:444, 16:416].astype(int)
    body = (view.min(axis=2) < 235).nonzero()
    assert abs((np.ptp(body[1]) + 1) * mm_per_px - 70) < 1.0
    red = ((view[:, :, 0] > 150) & (view[:, :, 1] < 70)).nonzero()
    middle_mm = (view.shape[0] / 2 - (red[0].min() + red[0].max()) / 2) * mm_per_px + 35
    assert abs(middle_mm - survey.centre_of_mass_mm[1]) < 0.6  # the cup's own centre height, 3 px
