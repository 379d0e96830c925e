"""Weighing and measuring: size, mass, centre of mass, rests, footprint, symmetry, each with its doubt."""

from scanprep.survey.measure import survey_object
from scanprep.survey.records import Survey

__all__ = ["Survey", "survey_object"]
