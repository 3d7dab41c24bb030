"""The command line. Each command lives in a module of its own, opened only when it is called, so that help is quick."""

from __future__ import annotations

import codecs
import importlib
import sys
import unicodedata

import click

from wareboard import __version__

PLAINLY = "wareboard-plainly"
SIGNS = {
    "\N{MINUS SIGN}": "-", "\N{EN DASH}": "-", "\N{EM DASH}": "-", "\N{MULTIPLICATION SIGN}": "x", "\N{DEGREE SIGN}": "deg ",
    "\N{PLUS-MINUS SIGN}": "+/-", "\N{FRACTION SLASH}": "/", "\N{MIDDLE DOT}": "*", "\N{RIGHTWARDS ARROW}": "->",
    "\N{GREATER-THAN OR EQUAL TO}": ">=", "\N{LESS-THAN OR EQUAL TO}": "<=",
}  # fmt: skip
COMMANDS = {
    "plan": ("wareboard.commands.plan:plan_command", "Plan a brief and write its dossier of sheets."),
    "check": (
        "wareboard.commands.plan:check_command",
        "Say everything that is wrong in a brief, with lines and mends.",
    ),
    "new": ("wareboard.commands.plan:new_command", "Start a brief from four numbers."),
    "demo": ("wareboard.commands.demo:demo_command", "Make a workshop folder with an invented commission and plan it."),
    "studio": (
        "wareboard.commands.studio:studio_command",
        "Open the studio in the browser; --phone for phones as well.",
    ),
    "backup": ("wareboard.commands.studio:backup_command", "Copy a workshop's records into one file."),
    "restore": ("wareboard.commands.studio:restore_command", "Put a workshop's records back from a backup."),
    "reorder": (
        "wareboard.commands.reorder:reorder_command",
        "Order a delivered commission again as it was made, and list what has changed since.",
    ),
    "wet-size": ("wareboard.commands.look_up:wet_size_command", "What to throw for a fired size, with its working."),
    "cone": ("wareboard.commands.look_up:cone_command", "Where a cone goes down at a rate, with form and chart named."),
    "schedule": ("wareboard.commands.firing:schedule_command", "A bisque or glaze firing to a cone, with its working."),
    "load": (
        "wareboard.commands.load:load_command",
        "How many firings some pieces need, and where each stands.",
    ),
    "log": (
        "wareboard.commands.firing:log_command",
        "Review a logger's file: what is odd, which cone, what the kiln did.",
    ),
    "packs": (
        "wareboard.commands.packs:packs_command",
        "Read witness packs, level by level, and name one next change.",
    ),
    "offsets": (
        "wareboard.commands.kiln_records:offsets_command",
        "What each level gets more than its thermocouple says, learned from packs and logs.",
    ),
    "wear": (
        "wareboard.commands.kiln_records:wear_command",
        "How worn the elements are, and when the kiln falls behind.",
    ),
    "fit-kiln": (
        "wareboard.commands.kiln_records:fit_kiln_command",
        "Fit the kiln's model to a log: its wall and what its load takes up.",
    ),
    "drying": (
        "wareboard.commands.drying:drying_command",
        "When a piece is leather-hard, joinable and dry, with ranges.",
    ),
    "dry-enough": (
        "wareboard.commands.drying:dry_enough_command",
        "Whether ware is dry enough for bisque, by its weight.",
    ),
    "run-chart": (
        "wareboard.commands.run_chart:run_chart_command",
        "Chart a run of readings: limits, which rule spoke, and what was agreed.",
    ),
    "unity": (
        "wareboard.commands.glaze:unity_command",
        "What a recipe comes to: analysis, unity formula, expansion, flags.",
    ),
    "glaze-recipe": (
        "wareboard.commands.glaze_recipe:glaze_recipe_command",
        "A recipe for a unity formula, from the shelf: exact or nearest, proved.",
    ),
    "slip": ("wareboard.commands.glaze:slip_command", "Specific gravity of a slip by weighing, and what mends it."),
    "form": ("wareboard.commands.form:form_command", "A form in the round: solids to look at or print, at any stage."),
    "mark": ("wareboard.commands.mark:mark_command", "Make life-size templates of a mark for the leather-hard wall."),
    "paint": (
        "wareboard.commands.paint:paint_command",
        "Zones, order of coats, amounts and painter's cards of an artwork, from fired tiles.",
    ),
    "tile-colour": (
        "wareboard.commands.paint:tile_colour_command",
        "The colour of tiles in a photograph, corrected by a card or a grey patch.",
    ),
    "start-count": ("wareboard.commands.look_up:start_count_command", "How many to start so as to have enough."),
    "defaults": ("wareboard.commands.look_up:defaults_command", "Every usual figure, with its range and source."),
}


class Rooms(click.Group):
    """A group whose commands are imported when they are called, and not before."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        module, name = COMMANDS[cmd_name][0].split(":")
        command: click.Command = getattr(importlib.import_module(module), name)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, words) for name, (_, words) in COMMANDS.items()])


@click.command(cls=Rooms, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="wareboard")
def wareboard() -> None:
    """Plan, make, record and repeat commissions of matched handmade tableware."""


def plainly(problem: UnicodeError) -> tuple[str, int]:
    """What a console that cannot show a letter shows in its place, and where it goes on.

    "½" must not stop a plan, and a minus that came out as "?" would turn a kiln's offset round.
    """
    if not isinstance(problem, UnicodeEncodeError):
        raise problem
    said = ""
    for letter in problem.object[problem.start : problem.end]:
        apart = "".join(SIGNS.get(each, each) for each in unicodedata.normalize("NFKD", letter))
        said += SIGNS.get(letter) or "".join(each for each in apart if each.isascii()) or "?"
    return said, problem.end


def main() -> None:
    """Run the command line; a mistake a person can mend ends with its words, not with a traceback."""
    from wareboard.errors import Unreadable, WareboardError

    codecs.register_error(PLAINLY, plainly)
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors=PLAINLY)
    try:
        wareboard(prog_name="wareboard")
    except WareboardError as problem:
        click.echo(str(problem), err=True)
        sys.exit(1)
    except OSError as problem:  # a folder without rights, a full disk: the machine's own words, and no traceback
        place = str(problem.filename or "the file")
        said = problem.strerror or str(problem)
        missing = isinstance(problem, FileNotFoundError)
        why = "there is no such file or folder" if missing else f"the machine does not allow it ({said})"
        click.echo(
            str(Unreadable(place, why, "Check folder, rights and room on the disk, or choose another place")), err=True
        )
        sys.exit(1)
