"""What is said once for each machine of a cutting plan, and its paper, machine by machine."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from curriculum.core.cautions import Caution, cautions_at, precedence
from curriculum.services.sheet import said, said_caution
from inventory.core.cutting import Machine
from inventory.core.cutting.worklist import gauge
from inventory.services.cut_sheets import CutJob, JobSheets
from shared.paper import Size, paper_response, qr_svg

# Machine kind: the words its cautions are found by, the thermal process, the usual sign-off.
MACHINES: dict[str, tuple[tuple[str, ...], str, str]] = {
    "shear": (("shear",), "", gettext_noop("shear")),
    "bandsaw": (("bandsaw",), "", gettext_noop("saw")),
    "cold saw": (("saw",), "", gettext_noop("saw")),
    "chop saw": (("saw",), "", gettext_noop("saw")),
    "flame": ((), "OFC", gettext_noop("cutting torch")),
    "plasma": ((), "PAC", gettext_noop("plasma torch")),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineSheets:
    """The jobs of one machine, with its cautions, its sign-off and what they count on there."""

    name: str
    signoff: str
    limits: str
    cautions: tuple[Caution, ...]
    precedence: str
    jobs: tuple[JobSheets, ...]

    @property
    def units(self) -> str:
        return self.jobs[0].units

    @property
    def rounded(self) -> bool:
        return any(job.rounded for job in self.jobs)

    @property
    def bars(self) -> bool:
        return any(job.bars for job in self.jobs)

    @property
    def turned(self) -> bool:
        """Whether there are sheets, whose cuts are measured from two sides."""
        return not all(job.bars for job in self.jobs)

    @property
    def materials(self) -> str:
        return ", ".join(job.job.item for job in self.jobs)


def by_machine(jobs: Iterable[JobSheets]) -> list[MachineSheets]:
    """Return the jobs by their machines, in the order in which these come first."""
    groups: dict[tuple[object, ...], list[JobSheets]] = {}
    for one in jobs:
        job = one.job
        key = (job.machine, job.kind, job.signoff, _limits(job.problem.machine, one.units))
        groups.setdefault(key, []).append(one)
    return [_machine(group) for group in groups.values()]


def _machine(jobs: Sequence[JobSheets]) -> MachineSheets:
    first = jobs[0].job
    usual = MACHINES.get(first.kind, ((), "", ""))[2]
    cautions = {one.key: one for job in jobs for one in _cautions(job.job)}
    return MachineSheets(
        name=first.machine or _("No machine here"),
        signoff=first.signoff or said(usual),
        limits=_limits(first.problem.machine, jobs[0].units),
        cautions=tuple(cautions.values()),
        precedence=said(precedence()),
        jobs=tuple(jobs),
    )


def _cautions(job: CutJob) -> Iterator[Caution]:
    tools, process, __ = MACHINES.get(job.kind, ((), "", ""))
    if tools or process:
        yield from map(said_caution, cautions_at(tools, process=process, metal=job.metal))


def _limits(machine: Machine, units: str) -> str:
    """Say what a plan counts on at the machine."""

    def shown(metres: float) -> str:
        return str(gauge(metres, units))

    facts: list[str] = [
        _("each cut takes %(kerf)s") % {"kerf": shown(machine.kerf)}
        if machine.kerf
        else _("a cut takes nothing away")
    ]
    if machine.trim:
        facts.append(_("%(trim)s trimmed off each edge") % {"trim": shown(machine.trim)})
    if machine.narrowest:
        facts.append(_("no strip under %(size)s") % {"size": shown(machine.narrowest)})
    if machine.longest is not None:
        facts.append(_("no cut over %(size)s") % {"size": shown(machine.longest)})
    return "; ".join(facts)


def cut_plan_pdf(
    request: HttpRequest,
    *,
    title: str,
    jobs: Iterable[JobSheets],
    facts: Sequence[tuple[str, str]] = (),
    url: str,
    filename: str,
    size: Size,
) -> HttpResponse:
    """Return the plan as PDF, each machine's pages by themselves, as they go to that machine.

    `facts` are label and text for the title block; `url` is the absolute one of the plan's page,
    for the code. The sheets of `jobs` are made with `paper=True`. Without Pango the answer is the
    page for the browser's print.
    """
    context: dict[str, Any] = {
        "title": title,
        "machines": by_machine(jobs),
        "facts": facts,
        "paper": True,
        "qr": qr_svg(url),
    }
    return paper_response(request, "print/cut_plan.html", context, filename=filename, size=size)
