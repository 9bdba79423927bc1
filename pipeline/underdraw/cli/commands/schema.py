"""`underdraw schema`: the JSON Schema of a job with the installed plugins, for editors to complete and check."""

import click


@click.command()
@click.option("--job", metavar="JOB", type=click.Path(), help="Load the plugin files that this job names, too.")
@click.pass_obj
def command(app: object, job: str | None) -> None:
    """Print the JSON Schema of a job file with the installed plugins, for editors."""
    import json
    from pathlib import Path

    from underdraw.cli.app import App
    from underdraw.cli.load_job import load_job
    from underdraw.plugins.job_keys import schema_of

    assert isinstance(app, App)
    if job is not None:
        load_job(Path(job), app.registry)
    app.warn_of_failures()
    print(json.dumps(schema_of(app.registry), indent=2, ensure_ascii=False))
