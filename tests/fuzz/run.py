"""Run commands on files that were changed where it hurts, and see that nothing breaks.

    python tests/fuzz/run.py --inputs 20000 [--seed 1] [--processes 2] [--state fuzz-state]

The work is in `fuzzing.py`, whose name no other folder of tests has.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from fuzzing import main

if __name__ == "__main__":
    sys.exit(main())
