"""What a browser makes of a page: text boxes, pictures and printed pages, from headless Chromium."""

import base64
import json
import re
import shutil
import subprocess
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
WHY_NOT = "chromium is not installed, so nothing can be measured in a browser"
OPTIONS = (
    "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking "
    "--disable-component-update --disable-sync --hide-scrollbars"
)

# Every text that shows, with its box on the page in CSS px; a text whose own box is empty shows nothing.
TEXT_BOXES = """
const found = {};
for (const page of document.querySelectorAll('div.page')) {
  const frame = page.querySelector('svg').getBoundingClientRect();
  found[page.id] = {frame: [frame.left, frame.top, frame.right, frame.bottom], texts: [], boxed: []};
  // A text's box is taller than its letters.
  for (const rect of page.querySelectorAll('rect[rx]')) {
    const outer = rect.getBoundingClientRect(), inner = rect.nextElementSibling.getBoundingClientRect();
    const across = outer.left < inner.left && inner.right < outer.right;
    const down = outer.top < inner.top + 2 && inner.bottom - 2 < outer.bottom;
    found[page.id].boxed.push([rect.nextElementSibling.textContent, across && down]);
  }
  for (const text of page.querySelectorAll('text')) {
    if (getComputedStyle(text).visibility === 'hidden') continue;
    const box = text.getBoundingClientRect();
    const words = [...text.childNodes].filter(node => node.nodeName !== 'title').map(node => node.textContent).join('');
    if (words.trim()) found[page.id].texts.push([words, box.left, box.top, box.right, box.bottom]);
  }
}
return found;
"""


def run(*options: str) -> str:
    """Chromium's standard output."""
    assert CHROMIUM is not None
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as home:
        done = subprocess.run(
            [CHROMIUM, *OPTIONS.split(), f"--user-data-dir={home}", *options],
            capture_output=True,
            check=True,
            timeout=120,
        )
    return done.stdout.decode()


def evaluate(body: str, script: str, folder: Path, *options: str) -> Any:
    """What a function body of script returns (a promise is waited for), on a page with this body."""
    page = folder / "measured.html"
    page.write_text(
        f'<!doctype html><meta charset="utf-8"><body style="margin:0">{body}<pre id="result"></pre><script>'
        f"(async () => {{ {script} }})().then(result => {{ document.getElementById('result').textContent = "
        "JSON.stringify(result); }, error => { document.getElementById('result').textContent = "
        "JSON.stringify({error: String(error)}); });</script></body>",
        encoding="utf-8",
    )
    shown = run("--virtual-time-budget=60000", "--dump-dom", *options, page.as_uri())
    match = re.search(r'<pre id="result">(.*?)</pre>', shown, re.DOTALL)
    assert match, shown[-2000:]
    result = json.loads(match[1].replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&"))
    assert not (isinstance(result, dict) and "error" in result), result
    return result


def inline(svg: bytes) -> str:
    """An SVG file as part of an HTML page."""
    return svg.decode().split("?>", 1)[1]


def text_boxes(pages: Mapping[str, bytes], folder: Path) -> dict[str, dict[str, Any]]:
    """For each SVG: its frame and every text that shows, [words, left, top, right, bottom] in CSS px."""
    body = "".join(
        f'<div class="page" id="{name}" style="width:720px">{inline(svg)}</div>' for name, svg in pages.items()
    )
    return dict(evaluate(body, TEXT_BOXES, folder))


def overlaps(texts: list[list[Any]], air: float = 0.3) -> list[tuple[str, str]]:
    """Which texts lie over each other by more than `air` px each way."""
    found = []
    for place, (words, *a) in enumerate(texts):
        for other, *b in texts[place + 1 :]:
            if a[0] + air < b[2] and b[0] + air < a[2] and a[1] + air < b[3] and b[1] + air < a[3]:
                found.append((words, other))
    return found


def data_uri(data: bytes, kind: str) -> str:
    """Bytes as a link that a page may read back."""
    return f"data:{kind};base64,{base64.b64encode(data).decode()}"


def printed_pages(page: Path, folder: Path) -> int:
    """How many sheets of paper an HTML page takes."""
    target = folder / f"{page.stem}.pdf"
    run("--no-pdf-header-footer", f"--print-to-pdf={target}", page.as_uri())
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", target.read_bytes()))
