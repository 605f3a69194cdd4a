"""A tab of the page: its title, its script among the assets, and the routes that it asks."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from starlette.routing import Route

from cases.page.desk import Desk
from cases.page.report_job import ReportJob
from cases.page.state import BoatText


@dataclass(frozen=True)
class Workplace:
    """What routes work with: the boat that was opened, the desk where computations take turns, and the report's process."""

    boat: BoatText
    desk: Desk
    report: ReportJob


@dataclass(frozen=True)
class Tab:
    """A tab.

    name   : in the page's address, and that of its script: assets/NAME.js exports `mount(element, page)`
    routes : paths begin with /NAME/
    """

    name: str
    title: str
    routes: Callable[[Workplace], Sequence[Route]]


__all__ = ["Tab", "Workplace"]
