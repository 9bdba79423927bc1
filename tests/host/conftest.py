"""A fresh environment: what somebody has who installed underdraw and nothing else of ours."""

import os
import subprocess
import sys
import sysconfig
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import pytest


@dataclass(frozen=True)
class FreshEnvironment:
    """A virtual environment in a folder, with underdraw and its libraries in sight, and `underdraw` on its path."""

    folder: Path

    @property
    def variables(self) -> Mapping[str, str]:
        kept = {key: value for key, value in os.environ.items() if key not in ("PYTHONPATH", "UNDERDRAW_PLUGINS")}
        return {
            **kept,
            "VIRTUAL_ENV": str(self.folder),
            "PATH": f"{self.folder / 'bin'}{os.pathsep}{os.environ['PATH']}",
            "PIP_DISABLE_PIP_VERSION_CHECK": "1",
        }

    def shell(self, command: str, where: Path) -> subprocess.CompletedProcess[str]:
        """Run what a person would type, with the environment active; stops at the first command that fails."""
        return subprocess.run(
            ["bash", "-euo", "pipefail", "-c", command],
            cwd=where, env=self.variables, capture_output=True, text=True, check=False,
        )  # fmt: skip


@pytest.fixture(scope="session")
def fresh_environment(tmp_path_factory: pytest.TempPathFactory) -> FreshEnvironment:
    """One environment for the session; what a test installs there, it names as its own."""
    folder = tmp_path_factory.mktemp("fresh") / "environment"
    subprocess.run([sys.executable, "-m", "venv", "--without-pip", str(folder)], check=True)
    python = folder / "bin" / "python"
    ask = [str(python), "-c", "import sysconfig; print(sysconfig.get_paths()['purelib'])"]
    site = Path(subprocess.run(ask, capture_output=True, text=True, check=True).stdout.strip())
    # underdraw, its libraries and pip as they are installed here: their downloads are not what is tried out
    (site / "as_installed.pth").write_text(f"import site; site.addsitedir({sysconfig.get_paths()['purelib']!r})\n")
    command = folder / "bin" / "underdraw"
    command.write_text(f"#!{python}\nfrom underdraw.cli.command_line import main\nmain()\n")
    command.chmod(0o755)
    return FreshEnvironment(folder)
