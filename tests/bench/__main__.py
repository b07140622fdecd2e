"""List the measurements, or take one: each prints its table, then one line of figures.

Some take the name of a smaller piece behind theirs, as in `python -m tests.bench week small`.
"""

import importlib
import sys
from pathlib import Path


def names() -> list[str]:
    return sorted(path.stem for path in Path(__file__).parent.glob("[a-z]*.py"))


def main(arguments: list[str]) -> int:
    if not arguments:
        print("\n".join(names()))
        return 0
    name, *pieces = arguments
    if name not in names():
        print(f"There is no measurement called {name}. There are: {', '.join(names())}.", file=sys.stderr)
        return 2
    figures = importlib.import_module(f"tests.bench.{name}").run(*pieces)
    print(name, *(f"{key}={value:.4g}" for key, value in figures.items()))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
