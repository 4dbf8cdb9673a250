"""``python -m gaugesim`` is the ``gaugesim`` command."""

from gaugesim.cli import main

if __name__ == "__main__":
    raise SystemExit(main())
