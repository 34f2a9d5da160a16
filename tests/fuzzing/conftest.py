"""The fuzzer's modules are imported by their names, the clean survey's too."""

import sys
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))
sys.path.insert(0, str(HERE.parent / "reference" / "bad_surveys"))
