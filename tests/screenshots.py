"""Take the README's pictures: `python -m tests.screenshots [folder]`; without a folder it is `.readme`.

They are of the demo's company in a file of its own, on days that stay the same, in the browser of the
tests, and so come out the same each time. It stands with the tests because the browser is theirs: what is
installed to run the service has none.
"""

import os
import subprocess
import sys
import tempfile
from pathlib import Path

FOLDER = Path(__file__).resolve().parent.parent / ".readme"


def main(arguments: list[str]) -> int:
    """Leave it to a pytest run of its own, which has the browser, the company and its clock at hand."""
    folder = Path(arguments[0] if arguments else FOLDER).resolve()
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as var:
        given = {"POURPLAN_VAR": var, "POURPLAN_PICTURES": str(folder), "SECRET_KEY": "only-for-pictures" * 3}
        given |= dict.fromkeys(("DATABASE_URL", "REDIS_URL"), "")
        command = [sys.executable, "-m", "pytest", "tests/browser/pictures.py"]
        return subprocess.run(command, env={**os.environ, **given}, check=False).returncode


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
