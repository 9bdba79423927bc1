"""The command line: the host's commands by file name, and a command for each installed stage, from its settings."""

import errno
import io
import os
import sys
import warnings
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, BinaryIO

import click

from underdraw import __version__
from underdraw.cli import commands
from underdraw.cli.app import PLUGINS_VARIABLE, App
from underdraw.errors import INTERRUPTED, REMEDY, CannotDo, InputError, UnderdrawError, unwritable
from underdraw.job.settings import FilePath, Flag, Many, Statement, did_you_mean, statements
from underdraw.plugins.catalogue import one_line
from underdraw.plugins.parts import Stage

if TYPE_CHECKING:
    from pathlib import Path

    from click.shell_completion import CompletionItem

    from underdraw.drawing.drawing import Drawing
    from underdraw.job.sections import Job


BEGINNING = 65_536  # bytes, within which a drawing has its first mark
DISK_FULL = (errno.ENOSPC, errno.EDQUOT)


class Root(click.Group):
    """The top command; its list is the host's commands and the installed stages."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        app = ctx.ensure_object(App)
        stages = sorted(app.registry.stages.values(), key=lambda stage: (stage.rank is None, stage.rank, stage.name))
        return [*(stage.name for stage in stages if stage.name not in commands.NAMES), *commands.NAMES]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        app = ctx.ensure_object(App)
        if cmd_name in commands.NAMES:
            command = commands.load(cmd_name)
        elif cmd_name in app.registry.stages:
            command = stage_command(app.registry.stages[cmd_name])
        else:
            return None
        known = {option.name for option in command.params}
        command.params += [option for option in _shared_options() if option.name not in known]
        return command

    def resolve_command(self, ctx: click.Context, args: list[str]) -> Any:
        name = args[0] if args else ""
        if name and not name.startswith("-") and self.get_command(ctx, name) is None:
            app = ctx.ensure_object(App)
            app.warn_of_failures()
            if app.registry.stages.is_claimed_twice(name):
                app.registry.stages.find(name)  # names who brought it
            raise InputError(
                f"there is no command {did_you_mean(name, self.list_commands(ctx))}; see underdraw --help "
                "(a plugin file's own commands come with --plugin FILE)"
            )
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        app = ctx.ensure_object(App)
        stages = [name for name in self.list_commands(ctx) if name not in commands.NAMES]
        helps = {name: sentence(app.registry.stages[name].help) for name in stages}
        helps |= {name: commands.summary(name) for name in commands.NAMES}
        for title, names in (("Stages, in the order of the job", stages), ("Other commands", commands.NAMES)):
            if names:
                with formatter.section(title):
                    formatter.write_dl([(name, helps[name]) for name in names])
        for failure in app.registry.failures:
            formatter.write_text(failure)


def _set(name: str) -> Callable[[click.Context, click.Parameter, bool], None]:
    def callback(ctx: click.Context, _parameter: click.Parameter, value: bool) -> None:
        if value:
            setattr(ctx.ensure_object(App).console, name, True)

    return callback


def _shared_options() -> list[click.Option]:
    return [
        click.Option(["--quiet"], is_flag=True, expose_value=False, callback=_set("quiet"), help="No summaries."),
        click.Option(["--verbose"], is_flag=True, expose_value=False, callback=_set("verbose"), help="All details."),
        click.Option(["--debug"], is_flag=True, expose_value=False, callback=_set("debug"), hidden=True),
    ]


def _add_plugin(ctx: click.Context, _parameter: click.Parameter, value: tuple[str, ...]) -> None:
    ctx.ensure_object(App).files += value


@click.group(
    cls=Root,
    invoke_without_command=False,
    no_args_is_help=False,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110},
)
@click.version_option(__version__, prog_name="underdraw")
@click.option(
    "--plugin", metavar="FILE", multiple=True, is_eager=True, expose_value=False, callback=_add_plugin,
    help=f"Load a plugin file too (also ${PLUGINS_VARIABLE}).",
)  # fmt: skip
@click.option("--quiet", is_flag=True, expose_value=False, callback=_set("quiet"), help="No summaries.")
@click.option("--verbose", is_flag=True, expose_value=False, callback=_set("verbose"), help="All details.")
@click.option("--debug", is_flag=True, expose_value=False, callback=_set("debug"), help="Show where a fault arose.")
def root() -> None:
    """Line artwork to an underdrawing on canvas, drawn by a router whose spindle is off.

    Stages read a drawing on standard input and write one on standard output, so they chain with pipes; `run` does a
    whole job at once.
    """


def stage_command(stage: Stage) -> click.Command:
    """The command of a stage: its settings as options, and where drawings come from and go."""
    params: list[click.Parameter] = []
    stated = statements(stage.settings)
    for name, statement in stated.items():
        params.append(_parameter(name, statement))
    if stage.kind == "source":
        params.append(
            click.Option(["--job", "job_"], metavar="JOB", shell_complete=_files, help="Job file the drawing is for.")
        )
    else:
        params.append(
            click.Option(
                ["-i", "--input", "input_"],
                metavar="FILE",
                shell_complete=_files,
                help="Drawing to read instead of standard input.",
            )
        )
    what = (
        "File to write (- for standard output)."
        if stage.kind == "writer"
        else "File for the drawing instead of standard output."
    )
    params.append(click.Option(["-o", "--output", "output_"], metavar="FILE", shell_complete=_files, help=what))

    @click.pass_obj
    def callback(app: App, /, **values: Any) -> None:
        given = {
            name: list(value) if isinstance(value, tuple) else value
            for name in stated
            if (value := values.get(name.replace("-", "_"))) is not None and value != ()
        }
        _run_stage_command(app, stage, given, values.get("job_"), values.get("input_"), values.get("output_"))

    return click.Command(stage.name, params=params, callback=callback, help=sentence(stage.help))


def sentence(text: str) -> str:
    """A line of help with a capital and a full stop, however its plugin wrote it."""
    return f"{text[:1].upper()}{text[1:].rstrip('.')}."


def _parameter(name: str, statement: Statement) -> click.Parameter:
    field = name.replace("-", "_")
    many = isinstance(statement.kind, Many)
    complete = _completion(statement)
    if statement.argument:
        return click.Argument(
            [field], metavar=name.upper(), required=False, nargs=-1 if many else 1, shell_complete=complete
        )
    shown = sentence(statement.help)
    if statement.default not in (None, (), []):
        default = statement.default
        told_default = ("yes" if default else "no") if isinstance(default, bool) else default
        told_default = ", ".join(map(str, default)) if isinstance(default, (tuple, list)) else told_default
        shown = sentence(f"{statement.help} [default: {told_default}]")
    if isinstance(statement.kind, Flag):
        return click.Option([f"--{name}/--no-{name}", field], default=None, help=shown)
    words = [f"--{name}", field] + ([f"-{statement.short}"] if statement.short else [])
    return click.Option(words, metavar=statement.kind.metavar, multiple=many, shell_complete=complete, help=shown)


Complete = Callable[[click.Context, click.Parameter, str], "list[CompletionItem] | list[str]"]


def _files(_ctx: click.Context, _parameter: click.Parameter, written: str) -> "list[CompletionItem]":
    """Let the shell complete the name of a file."""
    from click.shell_completion import CompletionItem

    return [CompletionItem(written, type="file")]


def _completion(statement: Statement) -> Complete | None:
    """What a shell offers for a setting: its choices, the parts that it may name, or files."""
    kind = statement.kind.kind if isinstance(statement.kind, Many) else statement.kind
    key = statement.job_key or ""
    if isinstance(kind, FilePath):
        return _files
    if "|" in kind.metavar:
        choices = kind.metavar.split("|")
        return lambda _ctx, _parameter, written: [choice for choice in choices if choice.startswith(written)]
    if key:
        return lambda ctx, _parameter, written: [
            name for name in ctx.ensure_object(App).registry.parts_by_key.get(key, ()) if name.startswith(written)
        ]
    return None


def _run_stage_command(
    app: App, stage: Stage, given: dict[str, object], job_path: str | None, source: str | None, target: str | None
) -> None:
    from pathlib import Path

    from underdraw.cli.load_job import load_job, warn_of_overrides
    from underdraw.cli.targets import require_kept
    from underdraw.job.file import located_in
    from underdraw.plugins.chain import (
        FileNames,
        StageContext,
        files_read,
        run_stage,
        settings_for,
        warn_where_no_loads,
    )

    app.warn_of_failures()
    job: Job | None = None
    drawing: Drawing | None = None
    if stage.kind == "source":
        job = load_job(Path(job_path), app.registry) if job_path else None
        if job is not None:
            warn_of_overrides(job, app.registry, app.console)
    else:
        if stage.kind == "writer" and target is None:
            raise InputError(f"{stage.name}: where should the file go? give -o FILE, or -o - for standard output")
        drawing = _drawing_for(app, stage, source)
        job = drawing.job
        app.registry.mention(job.stages.plugins)
    with located_in(job):
        settings = settings_for(stage, job, given)
        read = [*(Path(name) for name in (source, job_path) if name and name != "-"), *files_read(stage, settings)]
        if target not in (None, "-"):
            require_kept([Path(str(target))], read)
        context = StageContext(app.registry, app.console, stage.name, job if stage.kind == "source" else None)
        context.names = FileNames.of_target(target) if target not in (None, "-") else FileNames("drawing")
        result = run_stage(stage, drawing, settings, context)
        if stage.kind == "writer":
            warn_where_no_loads(result.drawing, context)
    _deliver(app, stage, result, target, read)


def _drawing_for(app: App, stage: Stage, source: str | None) -> "Drawing":
    """The drawing that a stage reads; whoever gives it artwork learns which stage makes a drawing of that."""
    from underdraw.drawing.wire import NotADrawing

    try:
        return read_input(source)
    except NotADrawing as error:
        sources = [f"underdraw {held.name} FILE" for held in app.registry.ranked_stages() if held.kind == "source"]
        would = f"; {' or '.join(sources)} makes one, before `{stage.name}`" if sources else ""
        raise InputError(f"{error.text}{would}") from None


def read_input(source: str | None) -> "Drawing":
    """The drawing from a file, or from standard input. Raises InputError."""
    import signal
    from pathlib import Path

    from underdraw.drawing.wire import read_drawing

    if source is not None and source != "-":
        try:
            with Path(source).open("rb") as file:
                return read_drawing(_whole(file), source)
        except OSError as error:
            raise InputError(f"cannot be read: {error.strerror or error}", file=source) from None
    if sys.stdin is None or sys.stdin.isatty():
        raise InputError("no drawing came in: pipe one from the stage before, or name a file with -i FILE")
    # An interrupt meant for a stage upstream reaches the whole pipeline; what that stage saves must still be read.
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        data = _whole(sys.stdin.buffer)
    finally:
        signal.signal(signal.SIGINT, before)
    return read_drawing(data, "standard input")


def _whole(stream: BinaryIO) -> bytes:
    """All of a stream up to the limit of a drawing; of what does not even begin as one, no more than its beginning."""
    from underdraw.drawing.wire import LARGEST_WIRE_BYTES

    begin = stream.read(BEGINNING)
    return begin if begin and b"<" not in begin else begin + stream.read(LARGEST_WIRE_BYTES + 1 - len(begin))


def _deliver(app: App, stage: Stage, result: Any, target: str | None, read: "list[Path]") -> None:
    """Put a stage's drawing and files where they go; `read`: files that must not be written over."""
    from pathlib import Path

    from underdraw.cli.files import write_all, write_files
    from underdraw.cli.targets import require_different, require_kept, require_sources_kept, warn_of_others
    from underdraw.drawing.wire import drawing_pieces
    from underdraw.plugins.chain import FileNames

    if result.listing:
        write_all(sys.stdout.buffer, (result.listing.rstrip("\n") + "\n").encode())
        return
    if stage.kind == "writer":
        if target == "-":
            if len(result.files) != 1:
                raise CannotDo(
                    f"{stage.name} made {len(result.files)} files, which do not fit standard output; use -o FILE"
                )
            app.console.summary(stage.name, result.summary)
            write_all(sys.stdout.buffer, result.files[0].data)
            return
        assert target is not None  # asked for before the work began
        path = Path(target)
        names, single = FileNames.of_target(target), len(result.files) == 1
        named = [(path.with_name(names.of(file.suffix, file.label, alone=single)), file.data) for file in result.files]
        require_kept((name for name, _ in named), read)
        require_sources_kept((name for name, _ in named), result.drawing)
        require_different([name for name, _ in named])
        write_files(named, done=app.files_written)
        suffixes = {Path(program.file).suffix for program in result.drawing.programs} & {
            path.suffix for path, _ in named
        }
        warn_of_others(path.parent, path.stem, suffixes, (name for name, _ in named), app.console)
    elif target is not None and target != "-":
        require_sources_kept([Path(target)], result.drawing)
        write_files([(Path(target), drawing_pieces(result.drawing))], done=app.files_written)
        app.console.summary(stage.name, result.summary)
        return
    app.console.summary(stage.name, result.summary)
    if not sys.stdout.isatty():
        for piece in drawing_pieces(result.drawing):
            write_all(sys.stdout.buffer, piece)


def main(arguments: list[str] | None = None) -> None:
    """The command in this process. Every error ends as one line on standard error and an exit code: 1, 2 or 130."""
    app = App()
    code = 0
    if sys.stdout is None:
        sys.stdout = ClosedOutput()
    elif isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="backslashreplace")  # letters that a locale does not have
    if not sys.warnoptions:  # Python's own warnings are for developers: python -W default -m underdraw … shows them
        warnings.simplefilter("ignore")
    try:
        root.main(arguments, prog_name="underdraw", standalone_mode=False, obj=app)
        sys.stdout.flush()  # what cannot be written must be reported while it still can
    except UnderdrawError as error:
        code = _tell(app, str(error), error.exit_code, error)
    except click.exceptions.Exit as error:
        code = error.exit_code
    except click.ClickException as error:
        context = getattr(error, "ctx", None)
        where = f"; see {context.command_path} --help" if context else ""
        if "unexpected extra argument" in error.format_message():
            where = f'; a value with spaces stands in quotes: --depth "4 cm"{where}'
        message = " ".join(error.format_message().split())
        code = _tell(app, f"{message.rstrip('.')}{where}", 2, error)
    except BrokenPipeError:
        _leave_stdout()  # nobody reads on: not our fault to report
        code = 1
    except (KeyboardInterrupt, click.Abort):
        message = "interrupted after every file was written" if app.written else "interrupted; nothing was written"
        code = _tell(app, message, INTERRUPTED, None)
    except UnicodeEncodeError as error:
        code = _tell(app, unwritable(error), 2, error)
    except RecursionError as error:
        code = _tell(app, "the input is nested too deeply to read", 2, error)
    except MemoryError as error:
        code = _tell(app, "there is not enough memory for this; simplify or split the artwork", 1, error)
    except Exception as error:
        if isinstance(error, OSError) and error.errno in DISK_FULL:  # files are named; this is where it is sent
            _leave_stdout()
            sys.exit(_tell(app, f"standard output: cannot be written: {error.strerror}", 1, error))
        culprit = app.culprit(error)
        who = f"plugin {culprit} raised" if culprit else "a fault of underdraw itself:"
        code = _tell(app, f"{who} {one_line(error)}; --debug shows the rest", 1, error)
    sys.exit(code)


class ClosedOutput(io.TextIOBase):
    """Standard output that whoever started this has closed: the first word written to it is an error."""

    def write(self, text: str) -> int:
        raise CannotDo("standard output is closed; name a file with -o FILE")

    @property
    def buffer(self) -> "ClosedOutput":
        return self


def _leave_stdout() -> None:
    """Send what is still held for standard output nowhere, so that Python does not complain of it at the end."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _tell(app: App, text: str, code: int, error: BaseException | None) -> int:
    if app.console.debug and error is not None:
        app.console.trace(error)
    reason, *remedies = text.split(REMEDY)
    app.console.line("underdraw: " + " ".join(reason.split("\n")), colour="31")
    for remedy in remedies:
        app.console.line("  try: " + " ".join(remedy.split("\n")))
    return code
