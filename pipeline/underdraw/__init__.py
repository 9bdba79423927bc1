"""underdraw: line artwork to an underdrawing on canvas, by a router whose spindle is off.

For plugins: `hookimpl`, the declared objects (`Stage`, `Ink`, `Holder`, `CanvasSize`, `Controller`), `setting` and
its kinds in `underdraw.settings`, and `Drawing`. Names that need numpy or shapely are imported when first asked for.
"""

import importlib

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
        return getattr(importlib.import_module(_LAZY[name]), name)
    raise AttributeError(f"module 'underdraw' has no attribute {name!r}")
