"""Make the helper modules of the tests importable, and the model's machine code once for all of them."""

import sys
from pathlib import Path

from hypothesis import settings

sys.path.insert(0, str(Path(__file__).parent / "reference"))
# The first example of a test may load the model's machine code: speed is measured in tests/benchmarks alone.
settings.register_profile("calm", deadline=None)
settings.load_profile("calm")


def pytest_configure(config):
    """Compile before several workers would all do so at once, and before a test listens to what a command says."""
    from orchid_year.simulation.year import make_ready

    if not hasattr(config, "workerinput"):
        make_ready()
