"""`underdraw run JOB`: the whole chain in one process."""

import click


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
    from underdraw.drawing.wire import write_drawing
    from underdraw.plugins.chain import FileNames, run_chain

    assert isinstance(app, App)
    path = Path(job)
    loaded = load_job(path, app.registry)
    app.warn_of_failures()
    with app.console.decisions_last():
        warn_of_overrides(loaded, app.registry, app.console)
        names = FileNames(path.stem)
        outcome = run_chain(loaded, app.registry, app.console, names)
        folder = Path(into) if into else path.parent / path.stem
        named = {folder / names.of(file.suffix, file.label): file.data for _, file in outcome.files}
        named[folder / f"{path.stem}-drawing.svg"] = write_drawing(outcome.drawing)
        write_files(named.items(), folder)
        listed = "".join(f"\n  {target.name}" for target in named)
        app.console.summary("run", f"wrote {len(named)} files into {folder}{listed}")
    if as_json:
        figures = {record.stage: dict(record.figures) for record in outcome.drawing.history}
        print(json.dumps({"files": [str(target) for target in named], "figures": figures}, indent=2))
