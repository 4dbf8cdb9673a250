"""The front door: what ``import gaugesim as gs`` offers, for notebooks and for programs of one's own.

Each name takes what the command of that name takes, in the same strings, and raises its errors. What it gives
is frozen, shows itself in a few lines and as a table, and hands itself over with ``to_dict()``, which is the
command's JSON, and ``to_frame()``.
"""
