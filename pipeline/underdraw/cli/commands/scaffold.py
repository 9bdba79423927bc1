"""`underdraw scaffold KIND NAME`: a new plugin, ready to install, with its tests."""

import click

from underdraw.scaffold import KINDS


@click.command()
@click.argument("kind", type=click.Choice(KINDS), metavar="|".join(KINDS))
@click.argument("name", metavar="NAME")
@click.option(
    "--into", metavar="DIR", type=click.Path(file_okay=False), default=".", help="Folder to put it in [this]."
)
@click.option("--single-file", is_flag=True, help="One file to name in a job, instead of a distribution to install.")
@click.pass_obj
def command(app: object, kind: str, name: str, into: str, single_file: bool) -> None:
    """Write a new plugin: a distribution ready to install, with tests, or one file to name in a job."""
    from pathlib import Path

    from underdraw.cli.app import App
    from underdraw.cli.files import write_files
    from underdraw.errors import InputError
    from underdraw.scaffold import place_of, plugin_files

    assert isinstance(app, App)
    folder = Path(into)
    made = folder / place_of(name, single_file=single_file)
    if made.exists():
        raise InputError("is there already; use another name or --into DIR", file=made)
    files = plugin_files(kind, name, app.registry, single_file=single_file)
    if not single_file:
        for place in files:
            (folder / place).parent.mkdir(parents=True, exist_ok=True)
    write_files(((folder / place, data) for place, data in files.items()), folder)
    if single_file:
        following = f'name it in a job, [stages] plugins = ["./{made.name}"], or: underdraw --plugin {made} …'
    else:
        following = f"next: python -m pip install --editable '{made}[test]'; go on with its README"
    app.console.summary("scaffold", f"wrote {made}; {following}")
