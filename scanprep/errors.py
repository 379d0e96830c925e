"""What stops us, said so that a person can mend it: file, field, value, what is wrong, what to do.

One tree. Only the command layer's `main` catches it; anything else that escapes is our own bug and keeps its traceback.
"""

from __future__ import annotations

from pathlib import Path


class ScanprepError(Exception):
    """Anything the user can put right. The message is one clear sentence."""

    exit_code = 2


class InputError(ScanprepError):
    """A file or field that cannot be used as it stands.

    Exit code 3 when a file is at fault, 2 when only words on the command line are.
    """

    def __init__(
        self,
        *,
        problem: str,
        remedy: str,
        file: str | Path | None = None,
        field: str | None = None,
        value: object = None,
    ) -> None:
        self.file = None if file is None else str(file)
        self.field = field
        self.value = value
        self.problem = problem
        self.remedy = remedy
        self.exit_code = 3 if file is not None else 2
        where = ": ".join(part for part in (self.file, field) if part)
        if value is not None:
            where = f"{where} = {value}" if where else str(value)
        super().__init__(f"{where}: {problem}. {remedy}" if where else f"{problem}. {remedy}")


class ScanError(InputError):
    """A scan file that cannot be read or cannot be believed."""


class RecordError(ScanprepError):
    """A change the record refuses (drilled, signed off, or something changed underneath)."""


class UnreadableRecordError(RecordError):
    """An entry of the record that this version cannot take."""

    exit_code = 3


class InputFaultsError(ScanprepError):
    """Every fault found in one file, reported in one go."""

    def __init__(self, errors: list[InputError]) -> None:
        self.errors = tuple(errors)
        self.exit_code = max(error.exit_code for error in errors)
        super().__init__("\n".join(str(error) for error in errors))
