"""One object of a case measured on its own, without looking for holds: seconds, for the table beside the scan.

Reads the scan, cleans it, surveys it, and writes the survey's picture. Used by the `survey` command.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from scanprep.file_names import safe_name
from scanprep.files.atomic_write import write_atomically
from scanprep.files.meshes import load_scan
from scanprep.files.scan_urls import at_hand
from scanprep.findings import Finding
from scanprep.papers.pictures.choices_picture import choices_png
from scanprep.papers.pictures.survey_picture import survey_picture_png
from scanprep.scan.clean import clean
from scanprep.scan.mesh import Repair
from scanprep.survey import Survey, survey_object
from scanprep.workspace.folder import CaseFolder


@dataclass(frozen=True, slots=True, eq=False)
class Surveyed:
    """What was measured, what cleaning did before, and where the picture is."""

    survey: Survey
    receipt: tuple[Repair, ...]
    grade: str
    reasons: tuple[str, ...]
    findings: tuple[Finding, ...]
    picture: Path


def show_survey(folder: CaseFolder, number: str, picture: Path | None = None) -> Surveyed:
    """Survey one object and draw its picture, at a path of one's own or as out/OBJECT/survey.png.

    Raises InputError where the checklist has no such object, ScanError where its scan cannot be used.
    """
    brief = folder.object(number)
    place = folder.scan_place(brief)
    with at_hand(place, folder.cache) as path:
        scan = load_scan(path, brief, folder.rules.scan, str(place))
    cleaned = clean(scan, brief, folder.rules.scan)
    survey = survey_object(cleaned, brief, folder.rules)
    path = picture or folder.out / safe_name(number) / "survey.png"
    title = f"{number}  {brief.title}".strip()
    write_atomically(path, survey_picture_png(survey, cleaned.working, title, folder.case.units))
    if survey.choices:
        write_atomically(path.with_name(f"{path.stem}-choices.png"), choices_png(survey, cleaned.working, title))
    return Surveyed(survey, cleaned.receipt, cleaned.grade.value, cleaned.reasons,
                    (*scan.findings, *cleaned.findings, *survey.findings), path)
