"""`python3 -m moldkit ...`: get everything ready that a fresh clone lacks, then run the command.

Written so that even Python 3.6 can read it, since only a file that is read can say that Python is too old.
"""

import sys

OLDEST = (3, 11)


def too_old(major: int, minor: int, windows: bool) -> str:
    """Return the sentence for a Python that is too old for moldkit, or "" when it will do."""
    if (major, minor) >= OLDEST:
        return ""
    better = "py -3.13" if windows else "python3.13"
    return (
        f"moldkit needs Python {OLDEST[0]}.{OLDEST[1]} or newer, and this is Python {major}.{minor}: "
        f"install a newer Python and start with it, for example `{better} -m moldkit lab`."
    )


def main() -> int:
    """Run the command line as given; return the exit code."""
    sentence = too_old(sys.version_info[0], sys.version_info[1], sys.platform == "win32")
    if sentence:
        print(sentence, file=sys.stderr)
        return 2
    from moldkit.start import first

    try:
        code = first.get_ready(sys.argv[1:])
        if code is not None:
            return code
        from moldkit.cli import main as run

        return run(sys.argv[1:])
    except ModuleNotFoundError as error:
        sentence = first.missing_package(error)
        if not sentence:
            raise
        print(sentence, file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("\nmoldkit: stopped.", file=sys.stderr)
        return 130


if __name__ == "__main__":
    sys.exit(main())
