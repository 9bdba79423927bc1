"""`underdraw calibrate`: readings typed in from a card become lines for the job, with how sure each is."""

import click


@click.command()
@click.option("--readings", metavar="FILE", required=True, type=click.Path(), help="What the card shows, typed in.")
@click.pass_context
def command(context: click.Context, /, readings: str) -> None:
    """Work out a job's lines from readings of a card (`swatch`): paste them into the job.

    FILE is TOML with what was read off, under [marker] and [machine]; the card's sheet has a form for it.
    """
    import sys
    from pathlib import Path

    from underdraw.calibration.lines import job_lines
    from underdraw.calibration.readings import read_readings

    print("\n".join(job_lines(read_readings(Path(readings)))))
    sys.stdout.flush()
