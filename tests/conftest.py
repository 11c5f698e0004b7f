"""Make the helper modules of the tests importable, and the model's machine code once for all of them."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))


def pytest_configure(config):
    """Compile before several workers would all do so at once, and before a test listens to what a command says."""
    from orchid_year.compiled import is_ready

    if not hasattr(config, "workerinput") and not is_ready():
        from orchid_year.run import make_ready

        make_ready()
