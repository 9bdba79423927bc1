"""underdraw: line artwork to an underdrawing on canvas, by a router whose spindle is off.

For plugins: `hookimpl`, the declared objects (`Stage`, `Ink`, `Holder`, `CanvasSize`, `Controller`), `setting` and
its kinds in `underdraw.job.settings`, and `Drawing`. Names that need numpy or shapely are imported when first used.
"""

TYPE_CHECKING = False  # typing's own would take longer to import than the rest of this

if TYPE_CHECKING:  # what a type checker reads; at run time `__getattr__` imports each when it is asked for
    from underdraw.drawing.drawing import Drawing as Drawing
    from underdraw.errors import CannotDo as CannotDo
    from underdraw.errors import InputError as InputError
    from underdraw.errors import UnderdrawError as UnderdrawError
    from underdraw.job.sections import Job as Job
    from underdraw.job.settings import setting as setting
    from underdraw.panel import Panel as Panel
    from underdraw.plugins.controller import Controller as Controller
    from underdraw.plugins.hookspecs import hookimpl as hookimpl
    from underdraw.plugins.parts import CanvasSize as CanvasSize
    from underdraw.plugins.parts import Context as Context
    from underdraw.plugins.parts import File as File
    from underdraw.plugins.parts import Holder as Holder
    from underdraw.plugins.parts import Ink as Ink
    from underdraw.plugins.parts import Result as Result
    from underdraw.plugins.parts import Stage as Stage

_LAZY = {
    "hookimpl": "underdraw.plugins.hookspecs",
    "Stage": "underdraw.plugins.parts",
    "Ink": "underdraw.plugins.parts",
    "Holder": "underdraw.plugins.parts",
    "CanvasSize": "underdraw.plugins.parts",
    "File": "underdraw.plugins.parts",
    "Result": "underdraw.plugins.parts",
    "Context": "underdraw.plugins.parts",
    "Controller": "underdraw.plugins.controller",
    "Drawing": "underdraw.drawing.drawing",
    "Job": "underdraw.job.sections",
    "Panel": "underdraw.panel",
    "setting": "underdraw.job.settings",
    "UnderdrawError": "underdraw.errors",
    "InputError": "underdraw.errors",
    "CannotDo": "underdraw.errors",
}
__version__ = "0.1.0"
__all__ = [*_LAZY, "__version__"]  # noqa: PLE0604


def __getattr__(name: str) -> object:
    if name in _LAZY:
        import importlib

        return getattr(importlib.import_module(_LAZY[name]), name)
    raise AttributeError(f"module 'underdraw' has no attribute {name!r}")
