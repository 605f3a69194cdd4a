"""A tab of the page: its title, its script among the assets, and the routes that it asks."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from starlette.routing import Route

from cases.page.desk import Desk
from cases.page.report_job import ReportJob
from cases.page.state import BoatText, OpenedFile


@dataclass(frozen=True)
class Workplace:
    """What routes work with: the file that was opened, the desk where computations take turns, and the report's process."""

    file: OpenedFile
    desk: Desk
    report: ReportJob

    @property
    def boat(self) -> BoatText:
        """The file's boat; InputFaults where it has never described one."""
        return self.file.boat


@dataclass(frozen=True)
class Tab:
    """A tab.

    name   : in the page's address, and that of its script: assets/NAME.js exports `mount(element, page)`
    routes : paths begin with /NAME/
    of_boat : whether it needs a boat
    """

    name: str
    title: str
    routes: Callable[[Workplace], Sequence[Route]]
    of_boat: bool = True


__all__ = ["Tab", "Workplace"]
