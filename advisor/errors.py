"""One family of errors: what is wrong, where, and how to mend it.  Nothing here prints or exits."""

from typing import NamedTuple


class Place(NamedTuple):
    """Where a problem is: file name, line and column (both from 1; 0 when unknown), and the field's path."""

    file: str
    line: int = 0
    column: int = 0
    field: str = ""

    def __str__(self) -> str:
        spot = self.file
        if self.line:
            spot += f":{self.line}"
            if self.column:
                spot += f":{self.column}"
        return f"{spot}, {self.field}" if self.field else spot


class Problem(NamedTuple):
    """One thing that is wrong, with the way to mend it; `check` is a short id of the kind of problem."""

    place: Place
    says: str
    mend: str
    check: str = "form"

    def __str__(self) -> str:
        return f"{self.place}: {self.says}. {self.mend}"


class InputError(Exception):
    """The user's input is wrong; carries every problem found, in the order of the file.  Exit code 2."""

    def __init__(self, problems: list[Problem] | Problem) -> None:
        found = [problems] if isinstance(problems, Problem) else list(problems)
        self.problems: tuple[Problem, ...] = tuple(sorted(found, key=lambda p: (p.place.file, p.place.line, p.place.column)))
        super().__init__("\n".join(map(str, self.problems)))
