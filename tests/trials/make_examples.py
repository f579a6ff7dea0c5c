"""Write the example fleets: `python tests/trials/make_examples.py [DIR]`, DIR being examples/.

The fleets are invented and drawn from fixed seeds: the same files, byte for byte, every time.
"""

from __future__ import annotations

import sys
from pathlib import Path

_ROOT = Path(__file__).resolve().parents[2]
if __name__ == "__main__":
    sys.path.insert(0, str(_ROOT))  # so that it runs as a script from anywhere

from tests.trials.example_ondrel import ondrel  # noqa: E402  # after the path is set
from tests.trials.example_pim import pim  # noqa: E402
from tests.trials.example_tables import write_tables  # noqa: E402
from tests.trials.example_tavvik import tavvik  # noqa: E402

FLEETS = {"ondrel": ondrel, "tavvik": tavvik, "pim": pim}
EXAMPLES = _ROOT / "examples"


def write_examples(folder: Path) -> None:
    """Write every example fleet to a folder of its name in `folder`."""
    for name, fleet in FLEETS.items():
        write_tables(fleet(), folder / name)


if __name__ == "__main__":
    write_examples(Path(sys.argv[1]) if len(sys.argv) > 1 else EXAMPLES)
