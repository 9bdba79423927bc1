"""What a reader sees: measured in a browser, and against a second renderer that shares no code with it."""

import json
from pathlib import Path

import pytest
import resvg_py
from garden_panels import SIX, panel_drawing
from in_browser import CHROMIUM, WHY_NOT, data_uri, evaluate, overlaps, text_boxes
from rendered import sans_serif

from underdraw.testing.trial import TrialContext
from underdraw_stages.preview import PreviewSettings
from underdraw_stages.preview.stage import preview

needs_browser = pytest.mark.skipif(CHROMIUM is None, reason=WHY_NOT)
PHONE = 390  # CSS px across
VIEWS = ("flat", "folded", "motion")
FACES = ("Liberation Sans", "DejaVu Sans")  # a narrow face and a wide one: labels must fit in either


def pages(bench: TrialContext, view: str, **settings: object) -> dict[str, bytes]:
    """One view of each of the six panels."""
    shown = PreviewSettings(view=(view,), **settings)  # type: ignore[arg-type]
    return {name: preview(panel_drawing(name), shown, bench).files[0].data for name in SIX}


@needs_browser
@pytest.mark.parametrize("face", FACES)
def test_no_label_lies_over_another_or_is_cut(bench: TrialContext, tmp_path: Path, face: str) -> None:
    made = {f"{view}: {name}": data for view in VIEWS for name, data in pages(bench, view, travel=True).items()}
    # Motion is measured at its end; what comes before shares places with it, one at a time.
    made = {name: data.replace(b"animation:", b"unanimated:") for name, data in made.items()}
    made = {name: data.replace(b"sans-serif", face.encode()) for name, data in made.items()}
    measured = text_boxes(made, tmp_path)
    assert len(measured) == 6 * len(VIEWS)
    assert sum(len(found["boxed"]) for found in measured.values()) > 10  # load numbers
    for name, found in measured.items():
        assert len(found["texts"]) > 8, name
        assert overlaps(found["texts"]) == [], name
        assert all(fits for _, fits in found["boxed"]), name
        left, top, right, bottom = found["frame"]
        for words, x0, y0, x1, y1 in found["texts"]:
            assert x0 >= left and y0 >= top and x1 <= right and y1 <= bottom, (name, words)
            assert "…" not in words, (name, words)


@needs_browser
def test_letters_can_be_read_on_a_phone(bench: TrialContext, tmp_path: Path) -> None:
    # 8 px and more: small print; from memory, what a phone's reader can still make out at arm's length.
    found = text_boxes(pages(bench, "flat"), tmp_path)
    for name, page in found.items():
        wide = page["frame"][2] - page["frame"][0]
        sizes = [(y1 - y0) * PHONE / wide for _, _, y0, _, y1 in page["texts"]]
        assert min(sizes) >= 8.0, name


LOADED = """
const load = source => new Promise((done, fail) => {
  const image = new Image(); image.onload = () => done(image); image.onerror = fail; image.src = source;
});
const pairs = JSON.parse(document.getElementById('pairs').textContent);
const result = {};
for (const [name, [one, other]] of Object.entries(pairs)) {
  const grey = []; let tall = 0;
  for (const source of [one, other]) {
    const image = await load(source);
    const canvas = document.createElement('canvas');
    tall = tall || Math.round(360 * image.naturalHeight / image.naturalWidth);
    canvas.width = 360; canvas.height = tall;
    const context = canvas.getContext('2d');
    context.imageSmoothingQuality = 'high';
    context.drawImage(image, 0, 0, canvas.width, canvas.height);
    const pixels = context.getImageData(0, 0, canvas.width, canvas.height).data;
    const values = [];
    for (let i = 0; i < pixels.length; i += 4)
      values.push(0.3 * pixels[i] + 0.59 * pixels[i + 1] + 0.11 * pixels[i + 2]);
    grey.push(values);
  }
  let far = 0, ink = 0;
  for (let i = 0; i < grey[0].length; i++) {
    if (Math.abs(grey[0][i] - grey[1][i]) > 64) far++;
    if (grey[0][i] < 160) ink++;
  }
  result[name] = {far: far / grey[0].length, ink: ink / grey[0].length};
}
return result;
"""


@needs_browser
def test_two_renderers_show_the_same_picture(bench: TrialContext, tmp_path: Path) -> None:
    pairs = {}
    for name in ("12 x 16 in", "48 x 20 in"):
        for view in ("flat", "folded", "motion"):
            svg = preview(panel_drawing(name), PreviewSettings(view=(view,)), bench).files[0].data
            still = svg.replace(b"animation:", b"unanimated:")  # a picture in a page plays too
            png = bytes(resvg_py.svg_to_bytes(svg_string=svg.decode(), dpi=144, sans_serif_family=sans_serif()))
            pairs[f"{name} {view}"] = (data_uri(still, "image/svg+xml"), data_uri(png, "image/png"))
    compared = evaluate(f'<script type="application/json" id="pairs">{json.dumps(pairs)}</script>', LOADED, tmp_path)
    for name, shares in compared.items():
        assert shares["ink"] > 0.01, name
        assert shares["far"] < 0.01, (name, shares)
