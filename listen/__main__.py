"""`listen` and `python -m listen`: the version at once, everything else through the commands."""

import os
import sys

# The matrices here are small: threads for them cost more than they do.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def main() -> None:
    """Run the command line; `--version` answers without importing the rest."""
    if sys.argv[1:] == ["--version"]:
        from listen._version import VERSION

        print(f"listen {VERSION}")
        return
    from listen.cli import main as run

    sys.exit(run())


if __name__ == "__main__":
    main()
