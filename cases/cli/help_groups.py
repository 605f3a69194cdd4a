"""The commands in help, grouped by who needs them."""

from __future__ import annotations

import click

GROUPS = {
    "Owner and builder": {
        "new": "Write a boat file from what is known of the boat.",
        "check": "Find the faults of a boat or frame file.",
        "run": "Analyse a boat: loads, margins, report.",
        "page": "Change a boat in the browser; the answer follows.",
        "compare": "Compare a boat with its variants.",
        "size": "Find the smallest stock sizes that are adequate.",
    },
    "A test on the boat": {
        "plan-test": "Plan a test: which readings teach most.",
        "calibrate": "Fit the boat's stiffness to the readings.",
    },
    "Engineer": {
        "uncertainty": "Chances of failure, and what to measure next.",
        "sweep": "Analyse every design of a grid.",
        "stations": "Hull stations from an offset table or drawing.",
        "schema": "Print the JSON Schema of a kind of file.",
    },
    "Student": {
        "frame": "Solve a frame file.",
        "verify": "Run the textbook cases.",
    },
}
"""Commands by who needs them, in the order in which they are used, each in a few words."""


class GroupedCommands(click.Group):
    """A group of commands whose help lists them under the headings of `GROUPS`; one in no group comes last."""

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        """Write the headings, and each command in a few words."""
        grouped = {name for commands in GROUPS.values() for name in commands}
        others = {
            name: self.commands[name].get_short_help_str() for name in self.commands if name not in grouped
        }
        for heading, commands in {**GROUPS, "Other": others}.items():
            known = [(name, words) for name, words in commands.items() if name in self.commands]
            if known:
                with formatter.section(heading):
                    formatter.write_dl(known)
