"""The command `exhibit desk` itself, which serves the docent's page."""

from __future__ import annotations

from pathlib import Path

import click

from exhibit.commands.docents_page.people import pair, people_list, people_option
from exhibit.commands.options import FILE, FOLDER, HOST, name_option, recordings_option, starter_option
from exhibit.output.terminal import put

DESKS_PORT = 8001
SERVED_AT = "The docent's page: "
"""What the line begins with that the desk prints when its page can be opened."""


@click.group(invoke_without_command=True, short_help="Serves the docent's page.")
@click.option("--folder", type=FOLDER, default=None, help="Folder of the machine.")
@recordings_option
@click.option(
    "--host", default=HOST, show_default=True, help="Address at which this computer serves the page."
)
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=DESKS_PORT,
    show_default=True,
    help="The page's TCP port.",
)
@name_option
@click.option("--certificate", type=FILE, default=None, help="Certificate (PEM), needed for --host.")
@click.option("--key", type=FILE, default=None, help="The certificate's key, mode 0600.")
@click.option(
    "--saved", type=FOLDER, default=None, help="Folder for notes, and for minutes saved for an engineer."
)
@people_option
@click.option("--practice", is_flag=True, hidden=True)
@starter_option
@click.pass_context
def desk(
    context: click.Context,
    folder: Path | None,
    recordings: Path,
    host: str,
    port: int,
    name: str,
    certificate: Path | None,
    key: Path | None,
    saved: Path | None,
    people: Path,
    practice: bool,
    with_starter: bool,
) -> None:
    """Serves the docent's page of the machine of --folder until it is stopped.

    The page starts and stops nothing by itself: it passes on what people ask for to the program that runs the
    scripts. Pair a tablet with `exhibit desk pair`, and say with `exhibit desk people` who may sign in.
    """
    if context.invoked_subcommand is not None:
        return
    if folder is None:
        raise click.UsageError("--folder is missing: the folder of the machine, such as scripts/whimbrel.")
    from exhibit.desk.serving import DeskOrder, serve_desk
    from exhibit.folder.whole import read_folder

    if with_starter:
        from exhibit.commands.child import end_with_starter

        end_with_starter()
    order = DeskOrder(
        machine=read_folder(folder).machine,
        recordings=recordings,
        people=people,
        saved=saved or recordings / "saved",
        host=host,
        port=port,
        name=name,
        certificate=certificate,
        key=key,
        practice=practice,
    )
    recordings.mkdir(parents=True, exist_ok=True)
    serve_desk(order, lambda address: put(f"{SERVED_AT}{address}"))


desk.add_command(pair)
desk.add_command(people_list)
