"""The command line. Nothing here imports Qt until a window or a picture is asked for."""

from dipbook_app.cli.main import main

__all__ = ["main"]
