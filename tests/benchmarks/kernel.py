"""Every figure of docs/explanation/kernel-figures.md, script after script: `python tests/benchmarks/kernel.py`."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

SCRIPTS = (("mixed_kernel.py", "large"), ("multivariate_t.py",), ("rule_at_zero.py", "40000"))

if __name__ == "__main__":
    for name, *words in SCRIPTS:
        print(f"\n# {name}\n", flush=True)
        subprocess.run([sys.executable, str(Path(__file__).with_name(name)), *words], check=True,
                       env={**os.environ, "OPENBLAS_NUM_THREADS": "1"})
