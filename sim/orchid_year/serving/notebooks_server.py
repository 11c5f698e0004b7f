"""JupyterLab for the one person at this computer: `python -m orchid_year.serving.notebooks_server`, started by `cli`."""

from __future__ import annotations

from .lifetime import end_with_starter, socket_folder


def main() -> None:
    """Serve the notebooks until asked to stop."""
    end_with_starter()
    with socket_folder():
        from jupyterlab.labapp import main as serve

        serve()


if __name__ == "__main__":
    main()
