"""`underdraw run JOB`: the whole chain in one process."""

from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    pass


@click.command()
@click.argument("job", metavar="JOB", type=click.Path())
@click.option(
    "--into",
    metavar="DIR",
    type=click.Path(file_okay=False),
    help="Folder for the files [one beside the job, named after it].",
)
@click.option("--json", "as_json", is_flag=True, help="Print files and figures as JSON.")
@click.pass_obj
def command(app: object, job: str, into: str | None, as_json: bool) -> None:
    """Do a whole job: every stage of its chain, and the files into one folder.

    Ctrl-C while a stage searches, as for the shortest way round, ends that search alone: the run goes on with the best
    found so far, writes every file and exits with 0. A second Ctrl-C stops the run: nothing is written, and it exits
    with 130.
    """
    import json
    from pathlib import Path

    from underdraw.cli.app import App
    from underdraw.cli.files import write_files
    from underdraw.cli.load_job import load_job, warn_of_overrides
    from underdraw.cli.targets import require_different, require_kept, warn_of_others
    from underdraw.drawing.wire import write_drawing
    from underdraw.errors import InputError
    from underdraw.plugins.chain import FileNames, files_of_job, run_chain
    from underdraw.words.quantities import counted

    assert isinstance(app, App)
    path = Path(job)
    loaded = load_job(path, app.registry)
    app.warn_of_failures()
    with app.console.decisions_last():
        warn_of_overrides(loaded, app.registry, app.console)
        names = FileNames(path.stem)
        folder = Path(into) if into else path.parent / path.stem
        last = folder / f"{path.stem}-drawing.svg"
        read = files_of_job(loaded, app.registry)
        if folder.exists() and not folder.is_dir():
            raise InputError("is a file; what is made goes into a folder: name another with --into", file=folder)
        require_kept([last], read)
        outcome = run_chain(loaded, app.registry, app.console, names)
        files = [(folder / names.of(file.suffix, file.label), file.data) for _, file in outcome.files]
        files.append((last, write_drawing(outcome.drawing)))
        named = [target for target, _ in files]
        require_kept(named, read)
        require_different(named)
        write_files(files, folder, done=app.files_written)
        listed = "".join(f"\n  {target.name}" for target in named)
        app.console.summary("run", f"wrote {counted(len(named), 'file')} into {folder}{listed}")
        programs = {Path(program.file).suffix for program in outcome.drawing.programs}
        warn_of_others(folder, path.stem, programs, named, app.console)
    if as_json:
        figures = {record.stage: dict(record.figures) for record in outcome.drawing.history}
        print(json.dumps({"files": [str(target) for target in named], "figures": figures}, indent=2))
