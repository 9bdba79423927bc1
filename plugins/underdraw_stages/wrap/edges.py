"""How the sides' modes are written: one for all, and any side's own after it."""

from typing import Any

from underdraw.job.settings import Kind, did_you_mean

MODES = ("plain", "mirror", "run-on", "drawn")
SIDES = ("top", "right", "bottom", "left")


class Edges(Kind):
    """`mirror`, or `mirror, top plain, left run-on`: (top, right, bottom, left) modes."""

    metavar = "plain|mirror|run-on|drawn"

    def read(self, raw: object) -> tuple[str, str, str, str]:
        """Raises ValueError for an unknown mode or side, a side named twice, or sides not set."""
        if not isinstance(raw, str) or not raw.strip():
            raise ValueError(f"expected one of {', '.join(MODES)}, got {raw!r}")
        chosen: dict[str, str] = {}
        common = None
        for item in raw.replace("=", " ").replace(":", " ").split(","):
            words = item.split()
            if not words:
                raise ValueError(f"an empty entry between commas in {raw!r}; write it as `mirror, top plain`")
            side, mode = (words[0], words[1]) if len(words) == 2 else ("", words[0])
            if len(words) > 2 or mode not in MODES:
                near = did_you_mean(mode, MODES)
                raise ValueError(f"{near}; use {', '.join(MODES)}, or `mirror, top plain` for sides that differ")
            if side and side not in SIDES:
                raise ValueError(f"there is no side {did_you_mean(side, SIDES)}; use {', '.join(SIDES)}")
            if side in chosen or (not side and common is not None):
                raise ValueError(f"{side or 'all sides'} named twice in {raw!r}; name it once")
            if side:
                chosen[side] = mode
            else:
                common = mode
        if common is None and len(chosen) < len(SIDES):
            missing = ", ".join(side for side in SIDES if side not in chosen)
            raise ValueError(f"{raw!r} sets nothing for {missing}; `mirror, top plain` sets it for all and for one")
        top, right, bottom, left = (chosen.get(side, common or "") for side in SIDES)
        return top, right, bottom, left

    def plain(self, value: Any) -> str:
        """As it is written, and read back."""
        if len(set(value)) == 1:
            return str(value[0])
        return ", ".join(f"{side} {mode}" for side, mode in zip(SIDES, value, strict=True))
