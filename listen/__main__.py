"""`listen` and `python -m listen`: the version at once, everything else through the commands."""

import os
import sys

# The matrices here are small: threads for them cost more than they do.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

BROKEN_PIPE = 141  # as a shell tells of SIGPIPE, 128 + 13; never 0, which is an answer


def main() -> None:
    """Run the command line, and see that its output was taken."""
    try:
        status = _run()
        if sys.stdout is not None:
            sys.stdout.flush()
    except BrokenPipeError:  # the reader of our output, `head` say, has gone
        sys.stdout = open(os.devnull, "w")  # noqa: SIM115 - what is left to flush goes nowhere
        status = BROKEN_PIPE
    sys.exit(status)


def _run() -> int:
    """The exit status; `--version` answers without importing the rest."""
    if sys.argv[1:] == ["--version"]:
        from listen._version import VERSION

        print(f"listen {VERSION}")
        return 0
    from listen.cli import main as run

    return run()


if __name__ == "__main__":
    main()
