"""The solver is ready quickly: nothing heavy is imported before it is needed."""

import subprocess
import sys


def test_only_numpy_is_imported() -> None:
    code = "import sys, fallwork.mechanics; print(*sorted(sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = {name.split(".")[0] for name in done.stdout.split()}
    assert "numpy" in loaded
    assert loaded.isdisjoint({"scipy", "matplotlib", "mkdocs", "sympy", "pydantic", "jinja2"})
