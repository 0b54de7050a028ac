"""Imports point only downward and the stages are pure: the contracts in pyproject.toml hold."""

import subprocess
import sys


def test_import_contracts_are_kept(root):
    command = "from importlinter.cli import lint_imports_command as run; run(['--no-cache'])"
    result = subprocess.run(
        [sys.executable, "-c", command], cwd=root, capture_output=True, text=True, check=False
    )
    assert result.returncode == 0, f"\n{result.stdout}\n{result.stderr}"
