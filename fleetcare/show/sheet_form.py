"""The sheet as a small text file to fill in and give back: `done --sheet` reads it."""

from __future__ import annotations

from collections.abc import Iterator

from fleetcare.fleet.figures import shown
from fleetcare.show.sheet import Sheet, SheetJob, Visit

_HEAD = """\
# Fill in what stands on the paper, then: fleetcare done --sheet {file}
# [x] is done, [ ] is not. Lines with # in front are not read.
on: {on}
by:
"""


def form_text(sheet: Sheet, file: str) -> str:
    """The form: a block for each engine's sheet, in it a line for each job."""
    blocks = ("\n".join(_block(sheet, visit)) for visit in sheet.visits)
    return "\n".join([_HEAD.format(file=file, on=sheet.on.isoformat()), *blocks])


def _block(sheet: Sheet, visit: Visit) -> Iterator[str]:
    yield f"sheet: {visit.number}"
    yield f"engine: {visit.engine.name}"
    if visit.figure is not None:
        if visit.figure.value is not None:
            yield f"# last read: {shown(visit.figure.value)}"
        yield "reading:"
    for job in visit.jobs:
        yield from _job(job)
    yield "# What else was found, a line each: part, then its condition, such as tell-tale weak"
    yield "also found:"
    yield ""


def _job(job: SheetJob) -> Iterator[str]:
    line = f"[ ] {job.rule.name} |"
    if job.conditions:
        line += " found: |"
        if any(item.count for item in job.conditions):
            line += " count: |"
    yield f"{line} note:"
    if job.conditions:
        words = (f"{item.word} (count)" if item.count else item.word for item in job.conditions)
        yield f"#     {job.rule.part}: {', '.join(words)}"
