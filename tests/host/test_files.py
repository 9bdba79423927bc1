"""Files are written whole or not at all."""

import io
import os
import signal
from pathlib import Path

import pytest

from underdraw.cli.files import write_all, write_files
from underdraw.errors import CannotDo


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


def test_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(CannotDo, match=r"a\.nc: cannot be written: there is no folder .*missing; make it first"):
        write_files([(tmp_path / "missing" / "a.nc", b"M5")])


def test_a_pipe_or_a_device_is_written_into_and_never_replaced(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    reader = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    try:
        write_files([(pipe, b"M5\n")])
        assert os.read(reader, 100) == b"M5\n"
    finally:
        os.close(reader)
    assert pipe.is_fifo()


def test_where_a_link_points_is_written_and_the_link_stays(tmp_path: Path) -> None:
    (tmp_path / "kept").mkdir()
    (tmp_path / "kept" / "a.nc").write_bytes(b"old")
    (tmp_path / "a.nc").symlink_to(tmp_path / "kept" / "a.nc")
    write_files([(tmp_path / "a.nc", b"new")])
    assert (tmp_path / "a.nc").is_symlink()
    assert (tmp_path / "kept" / "a.nc").read_bytes() == b"new"


def test_a_folder_in_the_way_is_named(tmp_path: Path) -> None:
    (tmp_path / "a.nc").mkdir()
    with pytest.raises(CannotDo, match=r"a\.nc: cannot be written: is a folder"):
        write_files([(tmp_path / "a.nc", b"x")])


def test_a_stream_that_takes_a_little_at_a_time_gets_all_of_it() -> None:
    class Narrow(io.BytesIO):
        def write(self, data: object) -> int:
            return super().write(bytes(data)[:3])  # type: ignore[call-overload]

    stream = Narrow()
    write_all(stream, b"M5 before anything moves")
    assert stream.getvalue() == b"M5 before anything moves"


def test_an_interrupt_among_the_renames_waits_for_the_last(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    renames = []

    def rename(source: Path, target: Path, replace=os.replace) -> None:  # type: ignore[no-untyped-def]
        renames.append(target)
        signal.raise_signal(signal.SIGINT)
        replace(source, target)

    monkeypatch.setattr(os, "replace", rename)
    done: list[int] = []
    with pytest.raises(KeyboardInterrupt):
        write_files([(tmp_path / "a.nc", b"new"), (tmp_path / "b.nc", b"new")], done=lambda: done.append(len(renames)))
    assert done == [2]  # told as written, before the interrupt goes on
    assert len(renames) == 2
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.nc", "b.nc"]
