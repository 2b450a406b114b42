"""The command, and ``python -m loadsim``."""

import sys


def main() -> None:
    """Run the command line; it may be stopped while it is still being loaded."""
    try:
        from loadsim.cli import main as run

        run()
    except KeyboardInterrupt:
        exec("")  # see loadsim.cli.main
        if sys.stderr is not None:
            sys.stderr.write("Stopped; nothing was written.\n")
        sys.exit(2)


def page() -> None:
    """Open the page, as a double click does: of a job among his documents."""
    from pathlib import Path

    import platformdirs

    documents = platformdirs.user_documents_path()
    home = documents if documents.is_dir() else Path.home()
    sys.argv[1:] = ["page", *(sys.argv[1:] or [str(home / "job.toml")])]
    main()


if __name__ == "__main__":
    main()
