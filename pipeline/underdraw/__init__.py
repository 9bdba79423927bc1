"""underdraw: line artwork to an underdrawing on canvas, by a router whose spindle is off.

For plugins: `hookimpl`, the declared objects (`Stage`, `Ink`, `Holder`, `CanvasSize`, `Controller`), `setting` and
its kinds in `underdraw.settings`, and `Drawing`. Names that need numpy or shapely are imported when first asked for.
"""

TYPE_CHECKING = False  # typing's own would take longer to import than the rest of this

if TYPE_CHECKING:  # what a type checker reads; at run time `__getattr__` imports each when it is asked for
    from underdraw.controller import Controller as Controller
    from underdraw.drawing import Drawing as Drawing
    from underdraw.errors import CannotDo as CannotDo
    from underdraw.errors import InputError as InputError
    from underdraw.errors import UnderdrawError as UnderdrawError
    from underdraw.hookspecs import hookimpl as hookimpl
    from underdraw.job import Job as Job
    from underdraw.panel import Panel as Panel
    from underdraw.parts import CanvasSize as CanvasSize
    from underdraw.parts import Context as Context
    from underdraw.parts import File as File
    from underdraw.parts import Holder as Holder
    from underdraw.parts import Ink as Ink
    from underdraw.parts import Result as Result
    from underdraw.parts import Stage as Stage
    from underdraw.settings import setting as setting

_LAZY = {
    "hookimpl": "underdraw.hookspecs",
    "Stage": "underdraw.parts",
    "Ink": "underdraw.parts",
    "Holder": "underdraw.parts",
    "CanvasSize": "underdraw.parts",
    "File": "underdraw.parts",
    "Result": "underdraw.parts",
    "Context": "underdraw.parts",
    "Controller": "underdraw.controller",
    "Drawing": "underdraw.drawing",
    "Job": "underdraw.job",
    "Panel": "underdraw.panel",
    "setting": "underdraw.settings",
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
