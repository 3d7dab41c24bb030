"""`wareboard studio`, `backup` and `restore`: the pages, and the records behind them."""

from __future__ import annotations

from pathlib import Path

import click

from wareboard.commands.written import TO_WRITE, replace_option, replacing

FOLDER = click.Path(file_okay=False, path_type=Path)
folder_option = click.option(
    "--folder",
    type=FOLDER,
    default=Path("workshop"),
    show_default=True,
    envvar="WAREBOARD_FOLDER",
    help="The workshop folder; WAREBOARD_FOLDER in the environment if left out.",
)


@click.command("studio")
@folder_option
@click.option("--port", type=click.IntRange(1, 65535), help="Port on 127.0.0.1; a free one near 8471 if left out.")
@click.option("--no-browser", is_flag=True, help="Do not open the browser.")
@click.option(
    "--phone", is_flag=True, help="Listen on the workshop's own network too, over TLS, for people who sign in."
)
@click.option("--phone-port", type=click.IntRange(1, 65535), help="Port for phones; a free one near 8501 if left out.")
def studio_command(folder: Path, port: int | None, no_browser: bool, phone: bool, phone_port: int | None) -> None:
    """Open the studio in the browser, on this machine only unless --phone is given. Ctrl-C closes it."""
    from wareboard.studio.serve import serve

    serve(folder, port=port, open_browser=not no_browser, phones=phone or phone_port is not None, phone_port=phone_port)


@click.command("backup")
@click.argument("file", type=TO_WRITE)
@folder_option
@replace_option
def backup_command(file: Path, folder: Path) -> None:
    """Copy the workshop's records and its file into FILE, a zip."""
    from wareboard.book.backup import back_up

    click.echo(f"Records copied to {back_up(folder, file, replacing())}")


@click.command("restore")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@folder_option
def restore_command(file: Path, folder: Path) -> None:
    """Put the workshop's records back from FILE. What stands there now is kept beside it."""
    from wareboard.book.backup import RECORDS, restore
    from wareboard.errors import WareboardError
    from wareboard.studio.serve import make_ready

    kept = restore(folder, file)
    try:
        make_ready(folder)  # an older backup is brought to the present form at once, a newer one is refused
    except WareboardError:
        if kept is not None:
            restore(folder, kept)
        else:
            (folder / RECORDS).unlink(missing_ok=True)
        raise
    stood = f"what stood there is kept in {kept}" if kept else "nothing stood there before"
    click.echo(f"Records put back from {file}; {stood}. If the studio is open, close it and open it again.")
