"""The modules that judge, in groups, and the tests that are collected for each group.

Tests of the same name and room come first to mind; others that go through a module are added where they are quick.
"""

GROUPS: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...] = (
    (("scanprep/findings.py", "scanprep/scan/scale.py"),
     ("tests/foundation/test_findings.py", "tests/scan/test_scale.py")),
    (("scanprep/survey/mass.py",), ("tests/survey/test_mass.py", "tests/survey/test_survey_object.py")),
    (("scanprep/hold/statics/gates.py", "scanprep/hold/statics/contact.py", "scanprep/hold/statics/balance.py"),
     ("tests/hold/statics/test_gates.py", "tests/hold/statics/test_contact.py")),
    (("scanprep/post/fit.py", "scanprep/post/retention.py", "scanprep/post/holding.py", "scanprep/post/drill.py"),
     ("tests/post/test_fit.py", "tests/post/test_retention.py", "tests/post/test_measure.py",
      "tests/post/test_names.py", "tests/books/test_formulas_holes.py")),
    (("scanprep/panel/holes.py", "scanprep/case/release.py", "scanprep/case/check/checks.py",
      "scanprep/case/check/clashes.py", "scanprep/case/check/holes.py", "scanprep/case/check/outlines.py",
      "scanprep/case/check/panels.py"),
     ("tests/panel/test_holes.py", "tests/panel/test_hole_laws.py", "tests/case/check", "tests/case/test_release.py")),
    (("scanprep/case/record/chosen.py", "scanprep/case/record/decide.py", "scanprep/case/record/fold.py",
      "scanprep/case/record/fold_later.py", "scanprep/case/record/frozen.py", "scanprep/case/record/inputs.py",
      "scanprep/case/record/measuring.py", "scanprep/case/record/mount_status.py",
      "scanprep/case/record/retaining.py", "scanprep/files/ledger.py"),
     ("tests/case/record", "tests/files/test_ledger.py")),
    (("scanprep/papers/templates/template.py",), ("tests/papers/templates/test_panel.py",)),
)
