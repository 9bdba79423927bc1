"""`underdraw plugins`: what is installed, what it brings, and what failed."""

from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from underdraw.plugins.catalogue import Plugin


@click.command()
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
@click.pass_obj
def command(app: object, as_json: bool) -> None:
    """List the installed plugins, what each brings, and what failed and why."""
    import json

    from underdraw.cli.app import App
    from underdraw.plugins.hookspecs import HOOKS_VERSION

    assert isinstance(app, App)
    plugins = app.registry.plugins
    if as_json:
        print(
            json.dumps({"hooks_version": HOOKS_VERSION, "plugins": [_as_data(plugin) for plugin in plugins]}, indent=2)
        )
    else:
        for line in _table(plugins):
            print(line)
    if app.console.debug:
        for error in app.registry.errors:
            app.console.trace(error)


def _as_data(plugin: "Plugin") -> dict[str, Any]:
    return {
        "name": plugin.name,
        "distribution": plugin.distribution,
        "version": plugin.version,
        "brings": plugin.brings,
        "failures": plugin.faults,
    }


def _table(plugins: "list[Plugin]") -> list[str]:
    """Name, distribution with version, and what it brings, in columns; each fault on a line below."""
    rows = [
        (
            plugin.name,
            f"{plugin.distribution} {plugin.version}".strip(),
            "; ".join(f"{kind}: {', '.join(names)}" for kind, names in plugin.brings.items()) or "nothing",
        )
        for plugin in plugins
    ]
    first, second = (max((len(row[column]) for row in rows), default=0) for column in (0, 1))
    lines = []
    for plugin, (name, origin, brings) in zip(plugins, rows, strict=True):
        lines.append(f"{name:{first}}  {origin:{second}}  {brings}")
        lines += [f"{'':{first}}  {failure}" for failure in plugin.faults]
    return lines
