"""Files are written whole or not at all."""

from pathlib import Path

import pytest

from underdraw.errors import CannotDo
from underdraw.files import write_files


def test_all_files_arrive_and_nothing_else_stays(tmp_path: Path) -> None:
    write_files([(tmp_path / "new" / "a.nc", b"M5"), (tmp_path / "new" / "b.svg", b"<svg/>")], tmp_path / "new")
    assert {path.name: path.read_bytes() for path in (tmp_path / "new").iterdir()} == {
        "a.nc": b"M5",
        "b.svg": b"<svg/>",
    }


def test_if_one_cannot_be_written_none_is_and_the_old_ones_stay(tmp_path: Path) -> None:
    (tmp_path / "a.nc").write_bytes(b"old")
    with pytest.raises(CannotDo, match=r"missing/b\.svg: cannot be written"):
        write_files([(tmp_path / "a.nc", b"new"), (tmp_path / "missing" / "b.svg", b"")])
    assert (tmp_path / "a.nc").read_bytes() == b"old"
    assert [path.name for path in tmp_path.iterdir()] == ["a.nc"]


def test_a_folder_in_the_way_is_named(tmp_path: Path) -> None:
    (tmp_path / "a.nc").mkdir()
    with pytest.raises(CannotDo, match=r"a\.nc: cannot be written: is a folder"):
        write_files([(tmp_path / "a.nc", b"x")])
