"""`underdraw plugins`: what is installed, what it brings, and what failed."""

import json

import click


@click.command()
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
@click.pass_obj
def command(app: object, as_json: bool) -> None:
    """List the installed plugins, what each brings, and what failed to load."""
    from underdraw.app import App

    assert isinstance(app, App)
    held = [
        {
            "name": plugin.name,
            "distribution": plugin.distribution,
            "version": plugin.version,
            "brings": plugin.brings,
            "failures": plugin.failures,
        }
        for plugin in app.registry.plugins
    ]
    if as_json:
        print(json.dumps({"plugins": held}, indent=2))
        return
    width = max((len(plugin.name) for plugin in app.registry.plugins), default=0)
    for plugin in app.registry.plugins:
        origin = f"{plugin.distribution} {plugin.version}".strip()
        brought = "; ".join(f"{kind}: {', '.join(names)}" for kind, names in plugin.brings.items()) or "nothing"
        print(f"{plugin.name:{width}}  {origin}  {brought}")
        for failure in plugin.failures:
            print(f"{'':{width}}  {failure}")
